using System.Collections.Immutable;
using System.Runtime.InteropServices;
using Contracts.Agreements;
using NodaTime;

namespace Contracts.History;

/// <summary>
/// What is known of one contract: the state that every command is decided on. Nothing else is kept;
/// every figure is folded from it (<see cref="AccountFold"/>). Immutable.
/// </summary>
public sealed class ContractHistory
{
    private readonly ArraySegment<Recorded> entries;
    private readonly ArraySegment<Recorded> facts;

    private ContractHistory(string contract, ArraySegment<Recorded> entries, ArraySegment<Recorded> facts)
    {
        Contract = contract;
        this.entries = entries;
        this.facts = facts;
    }

    public string Contract { get; }

    /// <summary>Every event in the order of recording, notes included.</summary>
    public ImmutableArray<Recorded> Entries
    {
        get
        {
            if (field.IsDefault) { field = Whole(entries); }
            return field;
        }
    }

    /// <summary>The events that move figures, by day and, within a day, in the order of recording.</summary>
    public ImmutableArray<Recorded> Facts
    {
        get
        {
            if (field.IsDefault) { field = Whole(facts); }
            return field;
        }
    }

    /// <summary>The same as <see cref="Entries"/>, and nothing is copied for it where this history is the beginning of a longer one.</summary>
    internal ReadOnlySpan<Recorded> EntriesSeen => entries;

    /// <summary>The same as <see cref="Facts"/>, and nothing is copied for it where this history is the beginning of a longer one.</summary>
    internal ReadOnlySpan<Recorded> FactsSeen => facts;

    public bool IsSigned => facts.Count > 0;

    /// <summary>The signing; only a signed contract has one.</summary>
    public ContractEvent.Signed Signing =>
        FactsSeen is [{ Event: ContractEvent.Signed signed }, ..]
            ? signed
            : throw new ImpossibleHistoryException(Contract, "does not begin with a signing");

    public static ContractHistory Unsigned(string contract) => new(contract, ArraySegment<Recorded>.Empty, ArraySegment<Recorded>.Empty);

    /// <summary>The history of a whole stream, given in the order of recording.</summary>
    public static ContractHistory Of(string contract, IReadOnlyCollection<Recorded> stream)
    {
        Recorded[] entries = [.. stream];
        if (IsAlreadyInOrder(entries)) { return new ContractHistory(contract, entries, entries); }
        var facts = new List<Recorded>(stream.Count);
        foreach (var entry in stream)
        {
            if (entry.Event.IsNote) { continue; }
            var place = facts.Count;
            while (place > 0 && facts[place - 1].Event.On > entry.Event.On) { place--; }
            facts.Insert(place, entry);
        }

        return new ContractHistory(contract, entries, facts.ToArray());
    }

    /// <summary>A life without notes in which nothing was recorded out of its day's turn: facts and entries are one.</summary>
    private static bool IsAlreadyInOrder(Recorded[] entries)
    {
        for (var index = 0; index < entries.Length; index++)
        {
            if (entries[index].Event.IsNote) { return false; }
            if (index > 0 && entries[index].Event.On < entries[index - 1].Event.On) { return false; }
        }

        return true;
    }

    /// <summary>This history and one more event, the last recorded so far.</summary>
    public ContractHistory Evolve(Recorded entry)
    {
        MustFollow(entry);
        Recorded[] longer = [.. entries, entry];
        if (entry.Event.IsNote) { return new ContractHistory(Contract, longer, facts); }
        var place = facts.Count;
        while (place > 0 && facts[place - 1].Event.On > entry.Event.On) { place--; }
        return new ContractHistory(Contract, longer, (Recorded[])[.. facts[..place], entry, .. facts[place..]]);
    }

    /// <summary>
    /// This history as it grew: after its first event, after its second and so on, each time what <see cref="Evolve"/> makes of it. Most lives are
    /// told in the order of their days, so that what was known after some events is the beginning of what is known after all, and no event is
    /// copied; where something was told late, it is evolved from there on.
    /// </summary>
    internal IEnumerable<ContractHistory> AsItGrew()
    {
        var grown = Unsigned(Contract);
        var isBeginning = true;
        for (var index = 0; index < entries.Count; index++)
        {
            var entry = entries[index];
            grown.MustFollow(entry);
            var known = grown.facts.Count;
            isBeginning = isBeginning && (entry.Event.IsNote || ReferenceEquals(facts[known], entry));
            grown = isBeginning ? new ContractHistory(Contract, entries[..(index + 1)], facts[..(entry.Event.IsNote ? known : known + 1)]) : grown.Evolve(entry);
            yield return grown;
        }
    }

    private void MustFollow(Recorded entry)
    {
        if (entries.Count > 0 && entries[^1].Sequence >= entry.Sequence)
        {
            throw new ImpossibleHistoryException(Contract, $"has event {entry.Sequence} after {entries[^1].Sequence}");
        }
    }

    private static ImmutableArray<Recorded> Whole(ArraySegment<Recorded> part) =>
        part.Array is { } all && all.Length == part.Count ? ImmutableCollectionsMarshal.AsImmutableArray(all) : [.. part];

    /// <summary>What was known of the contract at a moment, that moment included.</summary>
    public ContractHistory AsKnownAt(Instant known) =>
        Entries.IsEmpty || Entries[^1].At <= known
            ? this
            : Of(Contract, Entries.TakeWhile(entry => entry.At <= known).ToList());

    /// <summary>What was recorded of the contract up to an event of the whole store, that event included.</summary>
    public ContractHistory ThroughSequence(long sequence) =>
        Entries.IsEmpty || Entries[^1].Sequence <= sequence
            ? this
            : Of(Contract, Entries.TakeWhile(entry => entry.Sequence <= sequence).ToList());
}

/// <summary>Stored history that no accepted commands could have made: damage or a bug, never a customer's doing.</summary>
public sealed class ImpossibleHistoryException(string contract, string what) : Exception($"Contract {contract} {what}.");
