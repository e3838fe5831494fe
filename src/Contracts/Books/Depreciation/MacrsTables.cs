using System.Collections.Immutable;

namespace Contracts.Books.Depreciation;

/// <summary>
/// IRS Publication 946, Appendix A, tables, for 3-, 5- and 7-year property: 200 % declining balance that
/// turns to straight line (first published in Rev. Proc. 87-57). Read in public transcriptions of the tables, all fifteen
/// columns in at least two that agree; the publication itself was not at hand. Each column adds up to 100.00 %.
/// They are looked up and never computed: the formula gives 44.44 where table A-1 has 44.45.
/// </summary>
internal static class MacrsTables
{
    private static readonly ImmutableArray<ImmutableArray<int>> ThreeYear =
    [
        [3333, 4445, 1481, 741],
        [5833, 2778, 1235, 154],
        [4167, 3889, 1414, 530],
        [2500, 5000, 1667, 833],
        [833, 6111, 2037, 1019],
    ];

    private static readonly ImmutableArray<ImmutableArray<int>> FiveYear =
    [
        [2000, 3200, 1920, 1152, 1152, 576],
        [3500, 2600, 1560, 1101, 1101, 138],
        [2500, 3000, 1800, 1137, 1137, 426],
        [1500, 3400, 2040, 1224, 1130, 706],
        [500, 3800, 2280, 1368, 1094, 958],
    ];

    private static readonly ImmutableArray<ImmutableArray<int>> SevenYear =
    [
        [1429, 2449, 1749, 1249, 893, 892, 893, 446],
        [2500, 2143, 1531, 1093, 875, 874, 875, 109],
        [1785, 2347, 1676, 1197, 887, 887, 887, 334],
        [1071, 2551, 1822, 1302, 930, 885, 886, 553],
        [357, 2755, 1968, 1406, 1004, 873, 873, 764],
    ];

    /// <summary>Hundredths of a percent of the unadjusted basis, one for each tax year from the first.</summary>
    public static ImmutableArray<int> Column(PropertyClass propertyClass, MacrsTable table)
    {
        var columns = propertyClass switch
        {
            PropertyClass.ThreeYear => ThreeYear,
            PropertyClass.FiveYear => FiveYear,
            PropertyClass.SevenYear => SevenYear,
            _ => throw new ArgumentOutOfRangeException(nameof(propertyClass), propertyClass, "No such property class."),
        };
        return table is >= MacrsTable.A1 and <= MacrsTable.A5
            ? columns[(int)table]
            : throw new ArgumentOutOfRangeException(nameof(table), table, "No such table.");
    }
}
