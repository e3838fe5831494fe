using System.Collections.Immutable;
using Contracts.Books.Depreciation;
using NodaTime;

namespace Contracts.Books.Month;

/// <summary>A line booked in the month that is about a month closed before.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Sequence">The first event of the command that brought it.</param>
/// <param name="RecordedAt">When it was learned.</param>
/// <param name="Cause">The event in words, and why and by whom where it says so.</param>
/// <param name="EffectiveIn">The month it is about.</param>
/// <param name="Account">The account.</param>
/// <param name="Amount">Debits are positive.</param>
public sealed record PriorPeriodItem(
    string Contract, long Sequence, Instant RecordedAt, string Cause, YearMonth EffectiveIn, BookAccount Account, Money Amount);

/// <summary>Everything a packet is made of.</summary>
/// <param name="Totals">The books around the month.</param>
/// <param name="Portfolio">What was gathered from every contract.</param>
/// <param name="PriorItems">What the month bears of months closed before.</param>
/// <param name="ClosedDiffers">How far what is booked into closed months moved since the last close; always nothing.</param>
/// <param name="Known">The moment of the close.</param>
/// <param name="ThroughSequence">The last event that counts.</param>
/// <param name="Title">Whose books these are.</param>
/// <param name="Form">The form the packet is made in.</param>
public sealed record MonthEndFigures(
    MonthTotals Totals, PortfolioMonth Portfolio, ImmutableArray<PriorPeriodItem> PriorItems, Money ClosedDiffers,
    Instant Known, long ThroughSequence, string Title, PacketForm Form = PacketMaker.Form)
{
    /// <summary>The depreciation policy of the books.</summary>
    public BookDepreciationPolicy Policy { get; } = BookDepreciationPolicy.Default;

    /// <summary>The fleet by the 3-year class of qualified rent-to-own property.</summary>
    public FleetSchedule Fleet { get; } = new(Portfolio.Fleet(PropertyClass.ThreeYear), BookDepreciationPolicy.Default);
}
