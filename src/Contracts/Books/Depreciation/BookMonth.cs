using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Books.Depreciation;

/// <summary>One unit's accumulated book depreciation over a month: opening + charge - disposal = closing.</summary>
/// <param name="Serial">The serial number.</param>
/// <param name="Cost">Its cost, in whole cents.</param>
/// <param name="Opening">Accumulated at the end of the month before; nothing in the month placed in service.</param>
/// <param name="Charge">The month's charge; nothing in the month of disposal.</param>
/// <param name="Disposal">What is taken off because the unit left in this month: all that was accumulated.</param>
/// <param name="Leaves">Whether the unit left in this month.</param>
public sealed record UnitMonth(string Serial, Money Cost, Money Opening, Money Charge, Money Disposal, bool Leaves)
{
    /// <summary>Accumulated at the end of the month.</summary>
    public Money Closing => Opening + Charge - Disposal;

    /// <summary>Cost less accumulated depreciation that leaves the books with the unit; nothing while it stays.</summary>
    public Money CarryingAmountOut => Leaves ? Cost - Disposal : Money.Zero;
}

/// <summary>The fleet's accumulated book depreciation over one month, unit by unit in the order given and in total.</summary>
/// <param name="Month">The month.</param>
/// <param name="Lines">The units that were in the fleet on some day of it.</param>
public sealed record BookMonth(YearMonth Month, ImmutableArray<UnitMonth> Lines)
{
    /// <summary>Accumulated at the end of the month before.</summary>
    public Money Opening { get; } = Total(Lines, line => line.Opening);

    /// <summary>The month's charge.</summary>
    public Money Charge { get; } = Total(Lines, line => line.Charge);

    /// <summary>Taken off with units that left.</summary>
    public Money Disposals { get; } = Total(Lines, line => line.Disposal);

    /// <summary>Accumulated at the end of the month.</summary>
    public Money Closing { get; } = Total(Lines, line => line.Closing);

    /// <summary>Carrying amount that left the books with units.</summary>
    public Money CarryingAmountOut { get; } = Total(Lines, line => line.CarryingAmountOut);

    private static Money Total(ImmutableArray<UnitMonth> lines, Func<UnitMonth, Money> part) =>
        lines.Aggregate(Money.Zero, (sum, line) => sum + part(line));
}
