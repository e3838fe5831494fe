namespace Contracts.Books.Depreciation;

/// <summary>
/// A federal property class, by its recovery period in years (26 USC 168(c) and (e)). Which one a fleet is in is for a
/// tax adviser to say; <see cref="RentToOwnQualification"/> helps to ask.
/// </summary>
public enum PropertyClass
{
    /// <summary>Qualified rent-to-own property: 26 USC 168(e)(3)(A)(iii) and 168(i)(14), both read.</summary>
    ThreeYear = 3,

    /// <summary>Consumer durables under contracts that miss the definition: Rev. Rul. 95-52, headline read.</summary>
    FiveYear = 5,

    /// <summary>Property with no class life that no other class names: 26 USC 168(e)(3)(C)(v), read.</summary>
    SevenYear = 7,
}

/// <summary>The mid-point at which a year's property is taken to have been placed in service (26 USC 168(d)(4), read).</summary>
public enum DepreciationConvention
{
    /// <summary>The mid-point of the year.</summary>
    HalfYear = 0,

    /// <summary>The mid-point of the quarter: for all property of a year with too much of it in the last quarter.</summary>
    MidQuarter = 1,
}

/// <summary>A percentage table of IRS Publication 946, Appendix A, by its number there.</summary>
public enum MacrsTable
{
    /// <summary>Half-year convention.</summary>
    A1 = 0,

    /// <summary>Mid-quarter convention, placed in service in the first quarter.</summary>
    A2 = 1,

    /// <summary>Mid-quarter convention, second quarter.</summary>
    A3 = 2,

    /// <summary>Mid-quarter convention, third quarter.</summary>
    A4 = 3,

    /// <summary>Mid-quarter convention, fourth quarter.</summary>
    A5 = 4,
}
