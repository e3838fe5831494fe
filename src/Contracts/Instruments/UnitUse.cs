using NodaTime;

namespace Contracts.Instruments;

/// <summary>How a contract let go of a unit.</summary>
public enum UseEnd
{
    /// <summary>It has not: the unit is on the contract.</summary>
    None,

    /// <summary>Swapped for another of its kind; it is due back and may be with the family still.</summary>
    Swapped,

    /// <summary>Returned, exchanged or stepped up from: it is back in the store that day.</summary>
    Returned,

    /// <summary>The family owns it.</summary>
    Owned,

    /// <summary>The family reported it lost or stolen.</summary>
    Lost,
}

/// <summary>The time a contract had a unit, as that contract's facts tell it in one view.</summary>
/// <param name="Serial">The unit.</param>
/// <param name="Kind">What the contract calls it.</param>
/// <param name="Contract">The contract.</param>
/// <param name="From">The day it went out: of the signing, swap, exchange or reinstatement.</param>
/// <param name="FromSequence">The event that took it.</param>
/// <param name="Key">The key of the command that took it.</param>
public sealed record UnitUse(string Serial, string Kind, string Contract, LocalDate From, long FromSequence, string Key)
{
    /// <summary>How the contract let go of it.</summary>
    public UseEnd End { get; init; }

    /// <summary>The day it did; null while it has not.</summary>
    public LocalDate? Until { get; init; }

    /// <summary>The event that did; where no event says so, after all events of the day.</summary>
    public long UntilSequence { get; init; } = long.MaxValue;

    /// <summary>The day it was back in the store, or null.</summary>
    public LocalDate? BackOn { get; init; }

    /// <summary>The event that says so.</summary>
    public long BackSequence { get; init; }

    /// <summary>What it cost, where the contract says so.</summary>
    public Money? Cost { get; init; }

    /// <summary>Rent paid for the installments that fell due while it was on the contract; a day's installment comes before its swap or exchange.</summary>
    public Money Rent { get; init; }

    /// <summary>Paid to own it: the early purchase price, or the charge for its loss.</summary>
    public Money Sale { get; init; }

    /// <summary>Paid because it did not come back after a swap.</summary>
    public Money NotReturned { get; init; }

    /// <summary>The days on which the contract had it within a span, both ends of the span included; the day on which it lets go is no day out.</summary>
    public int DaysWithin(LocalDate from, LocalDate through)
    {
        var first = LocalDate.Max(From, from);
        var end = Until is { } until && until <= through ? until : through.PlusDays(1);
        return first >= end ? 0 : Period.DaysBetween(first, end);
    }
}
