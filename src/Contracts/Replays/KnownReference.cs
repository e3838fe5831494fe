using System.Collections.Immutable;
using Contracts.Law;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Replays;

/// <summary>A tax rate or a law pack as it was recorded.</summary>
/// <param name="Sequence">Its place in the order of recording.</param>
/// <param name="At">When it was recorded.</param>
public abstract record ReferenceFact(long Sequence, Instant At)
{
    /// <summary>The reference data with it.</summary>
    internal abstract ReferenceData AddTo(ReferenceData data);

    /// <summary>A jurisdiction's rate from a day on.</summary>
    public sealed record Tax(long Sequence, Instant At, string Jurisdiction, TaxEntry Entry) : ReferenceFact(Sequence, At)
    {
        internal override ReferenceData AddTo(ReferenceData data) => data.With(Jurisdiction, Entry);
    }

    /// <summary>A law pack, with the text of its file.</summary>
    public sealed record Law(long Sequence, Instant At, AdoptedPack Pack, string Text) : ReferenceFact(Sequence, At)
    {
        internal override ReferenceData AddTo(ReferenceData data) => data.With(Pack);
    }
}

/// <summary>
/// The tax rates and law packs as they became known: each state of them with the first sequence from which it holds. Immutable.
/// </summary>
public sealed class KnownReference
{
    private readonly ImmutableArray<(long From, ReferenceData Data)> states;

    private KnownReference(ImmutableArray<ReferenceFact> facts, ImmutableArray<(long From, ReferenceData Data)> states) => (Facts, this.states) = (facts, states);

    /// <summary>Nothing but the law packs that come with the program.</summary>
    public static KnownReference None { get; } = new([], [(0, ReferenceData.None)]);

    /// <summary>What was recorded, in its order.</summary>
    public ImmutableArray<ReferenceFact> Facts { get; }

    /// <summary>The last state, which is what is known now.</summary>
    public ReferenceData Last => states[^1].Data;

    /// <summary>The same with a fact recorded after all before.</summary>
    public KnownReference Then(ReferenceFact fact) => new(Facts.Add(fact), states.Add((fact.Sequence, fact.AddTo(Last))));

    /// <summary>What was known when an event was recorded; the same object for events between which nothing became known.</summary>
    public ReferenceData Through(long sequence)
    {
        var index = states.Length - 1;
        while (index > 0 && states[index].From > sequence) { index--; }
        return states[index].Data;
    }

    /// <summary>The same as if a law pack had stood in the place of every pack of its jurisdiction from the first day on.</summary>
    public KnownReference InsteadOf(LawPack pack) => new(Facts, [.. states.Select(state => (state.From, state.Data.InsteadOf(pack)))]);
}
