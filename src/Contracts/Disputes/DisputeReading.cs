using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Disputes;

/// <summary>A figure of which the two readings differ.</summary>
/// <param name="Figure">Its path in the account's JSON, such as <c>equity</c>.</param>
/// <param name="Said">As it was said.</param>
/// <param name="IsSo">As it is, by what is known now.</param>
public sealed record TwoReadings(string Figure, string Said, string IsSo);

/// <summary>
/// The two readings of the day in question: as the paper that the dispute is about had it, or as the account was known when the dispute was opened; and
/// as it is by what is known now.
/// </summary>
/// <param name="On">The day in question.</param>
/// <param name="SaidAt">The moment as known at which it was said.</param>
/// <param name="Figures">The figures that differ.</param>
/// <param name="Same">How many do not.</param>
/// <param name="Since">What was recorded since of that day and before.</param>
public sealed record DisputeReading(LocalDate On, Instant SaidAt, ImmutableArray<TwoReadings> Figures, int Same, ImmutableArray<Recorded> Since)
{
    /// <summary>The readings of a dispute.</summary>
    /// <param name="history">What is known now.</param>
    /// <param name="rates">The rates and acts known now; one that is in use is never changed for days before it was recorded (docs/money.md, M29).</param>
    /// <param name="dispute">The dispute.</param>
    public static DisputeReading Of(ContractHistory history, ReferenceData rates, DisputeRecord dispute)
    {
        var (on, at, through) = Asked(history, dispute);
        var said = Numbers(AccountFold.At(history.ThroughSequence(through), rates, on), at);
        var isSo = Numbers(AccountFold.At(history, rates, on), at);
        var differing = isSo.Zip(said, (now, then) => new TwoReadings(now.Path, then.Text, now.Text)).Where(one => one.Said != one.IsSo).ToImmutableArray();
        return new DisputeReading(
            on, at, differing, isSo.Count - differing.Length,
            [.. history.Facts.Where(fact => fact.Sequence > through && fact.Event.On <= on && !IsOfDispute(fact.Event))]);
    }

    /// <summary>Which day is in question, and what was known of it when it was said.</summary>
    private static (LocalDate On, Instant At, long Through) Asked(ContractHistory history, DisputeRecord dispute)
    {
        var about = dispute.Claim.About is { } key ? history.Entries.FirstOrDefault(entry => entry.Key == key) : null;
        return about?.Event is ContractEvent.DocumentIssued paper
            ? (paper.On, paper.Known, paper.ThroughSequence)
            : (dispute.Claim.On, dispute.Opened.At, dispute.Opened.Sequence);
    }

    private static List<(string Path, string Text)> Numbers(AccountState? state, Instant at)
    {
        if (state is null) { return [.. ComparedFigures.Numbers.Select(figure => (figure.Path, ""))]; }
        var account = Account.Of(state, at);
        return
        [
            .. ComparedFigures.Numbers.Select(figure => (figure.Path, figure.IsMoney
                ? new Money(figure.Of(account)).ToString()
                : figure.Of(account).ToString(System.Globalization.CultureInfo.InvariantCulture))),
        ];
    }

    private static bool IsOfDispute(ContractEvent fact) =>
        fact is ContractEvent.DisputeOpened or ContractEvent.DisputePaperAttached or ContractEvent.DisputeAnswered or ContractEvent.DisputeClosed;
}
