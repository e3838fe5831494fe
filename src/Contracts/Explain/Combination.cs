using System.Diagnostics;

namespace Contracts.Explain;

/// <summary>
/// How the parts of a node make its value. The set is closed and small, so that a stranger can work a tree out again:
/// docs/explain.md has the arithmetic of each. Amounts are dollars, everything is exact until a member says that it rounds.
/// </summary>
public enum Combination
{
    /// <summary>Nothing is worked out: an event, the terms, a tax rate or a law pack says it. Such a node has no parts.</summary>
    Given,

    /// <summary>All parts added; without a part, nothing.</summary>
    Sum,

    /// <summary>The first part less all others.</summary>
    Difference,

    /// <summary>All parts multiplied, exactly.</summary>
    Product,

    /// <summary>The first part divided by the second, exactly.</summary>
    Quotient,

    /// <summary>All parts multiplied, then to the nearest cent, half a cent away from zero (M2).</summary>
    RoundedProduct,

    /// <summary>The first part divided by the second, then to the nearest cent, half a cent away from zero (M2).</summary>
    RoundedQuotient,

    /// <summary>The one part to the nearest cent, half a cent away from zero (M2).</summary>
    Rounded,

    /// <summary>The one part cut off at the cent below (M50).</summary>
    RoundedDown,

    /// <summary>The lowest of the parts.</summary>
    Lowest,

    /// <summary>The highest of the parts.</summary>
    Highest,

    /// <summary>How many parts there are.</summary>
    Count,
}

/// <summary>The words of combinations, with which the rule of every node begins.</summary>
public static class CombinationWords
{
    private const int MostNumbers = 6;

    /// <summary>The word of a combination, such as <c>rounded-product</c>.</summary>
    public static string Word(this Combination how) => how switch
    {
        Combination.Given => "given",
        Combination.Sum => "sum",
        Combination.Difference => "difference",
        Combination.Product => "product",
        Combination.Quotient => "quotient",
        Combination.RoundedProduct => "rounded-product",
        Combination.RoundedQuotient => "rounded-quotient",
        Combination.Rounded => "rounded",
        Combination.RoundedDown => "rounded-down",
        Combination.Lowest => "lowest",
        Combination.Highest => "highest",
        Combination.Count => "count",
        _ => throw new UnreachableException($"No word for {how}."),
    };

    /// <summary>The formula with the numbers put in; of many numbers the first ones and how many they are.</summary>
    /// <param name="how">The combination.</param>
    /// <param name="values">The values of the parts, as they are printed.</param>
    internal static string Formula(this Combination how, IReadOnlyList<string> values) => how switch
    {
        Combination.Given => "",
        Combination.Count => $"{values.Count} of them",
        Combination.Sum or Combination.Difference or Combination.Product or Combination.Quotient or Combination.RoundedProduct or Combination.RoundedQuotient
            when values.Count == 0 => "nothing",
        Combination.Sum => Joined(values, " + "),
        Combination.Difference => Joined(values, " - "),
        Combination.Product => Joined(values, " x "),
        Combination.Quotient => Joined(values, " / "),
        Combination.RoundedProduct => $"{Joined(values, " x ")}, to the nearest cent",
        Combination.RoundedQuotient => $"{Joined(values, " / ")}, to the nearest cent",
        Combination.Rounded => $"{Joined(values, ", ")}, to the nearest cent",
        Combination.RoundedDown => $"{Joined(values, ", ")}, cut off at the cent",
        Combination.Lowest or Combination.Highest => $"of {Joined(values, ", ")}",
        _ => throw new UnreachableException($"No formula for {how}."),
    };

    private static string Joined(IReadOnlyList<string> values, string with) => values.Count <= MostNumbers
        ? string.Join(with, values)
        : $"{string.Join(with, values.Take(MostNumbers - 1))}{with}... ({values.Count} numbers)";
}
