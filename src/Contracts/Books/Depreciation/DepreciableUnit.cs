using NodaTime;

namespace Contracts.Books.Depreciation;

/// <summary>
/// One instrument of the rental fleet as depreciation sees it. It is placed in service once and leaves once, by sale,
/// loss or scrapping; returns, idle months, repairs and swaps between families change nothing. An instrument that was
/// sold and bought back is another unit with the same serial number.
/// </summary>
public sealed record DepreciableUnit
{
    /// <summary>A unit; it cannot leave before it was placed in service, and its cost is not negative.</summary>
    /// <param name="serial">The serial number.</param>
    /// <param name="cost">What the shop paid for it, in whole cents; the unadjusted tax basis too.</param>
    /// <param name="taxClass">The federal property class that the shop's tax adviser settled on.</param>
    /// <param name="placedInServiceOn">The day it stood ready to be rented.</param>
    /// <param name="disposedOn">The day it left the fleet for good, or null while the shop has it.</param>
    public DepreciableUnit(string serial, Money cost, PropertyClass taxClass, LocalDate placedInServiceOn, LocalDate? disposedOn = null)
    {
        ArgumentException.ThrowIfNullOrEmpty(serial);
        if (cost < Money.Zero) { throw new ArgumentOutOfRangeException(nameof(cost), $"{serial} costs less than nothing."); }
        if (disposedOn < placedInServiceOn)
        {
            throw new ArgumentOutOfRangeException(nameof(disposedOn), $"{serial} left before it was placed in service.");
        }

        Serial = serial;
        Cost = cost;
        TaxClass = taxClass;
        PlacedInServiceOn = placedInServiceOn;
        DisposedOn = disposedOn;
    }

    /// <summary>The serial number.</summary>
    public string Serial { get; }

    /// <summary>What the shop paid for it, in whole cents.</summary>
    public Money Cost { get; }

    /// <summary>Its federal property class.</summary>
    public PropertyClass TaxClass { get; }

    /// <summary>The day it stood ready to be rented.</summary>
    public LocalDate PlacedInServiceOn { get; }

    /// <summary>The day it left the fleet for good, or null while the shop has it.</summary>
    public LocalDate? DisposedOn { get; }

    /// <summary>Whether it came and went within one calendar year: left out of the mid-quarter test and without any deduction.</summary>
    public bool GoneInItsFirstYear => DisposedOn?.Year == PlacedInServiceOn.Year;

    /// <summary>The month in which it was placed in service.</summary>
    public YearMonth PlacedIn => PlacedInServiceOn.ToYearMonth();

    /// <summary>The month in which it left, or null.</summary>
    public YearMonth? DisposedIn => DisposedOn?.ToYearMonth();
}
