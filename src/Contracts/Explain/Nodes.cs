using System.Globalization;
using System.Numerics;
using Contracts.History;
using Contracts.Law;

namespace Contracts.Explain;

/// <summary>Makes nodes; the value of a node is told by who makes it, and is never worked out from the parts here.</summary>
internal static class Nodes
{
    private const int MostPlaces = 12;

    /// <summary>A number that nothing is worked out for.</summary>
    public static ExplainNode Leaf(string figure, Money value, string says, string citation, Recorded? fact) =>
        new(figure, value.ToString(), Combination.Given, says, citation, fact, []);

    /// <summary>The same for a rate, a count or an exact number.</summary>
    public static ExplainNode Leaf(string figure, string value, string says, string citation, Recorded? fact) =>
        new(figure, value, Combination.Given, says, citation, fact, []);

    /// <summary>A rate that the terms, a tax entry or an act says.</summary>
    public static ExplainNode Leaf(string figure, Rate value, string says, string citation, Recorded? fact) => Leaf(figure, value.ToString(), says, citation, fact);

    /// <summary>A count.</summary>
    public static ExplainNode Leaf(string figure, int value, string says, string citation, Recorded? fact) => Leaf(figure, Text(value), says, citation, fact);

    /// <summary>An amount that combines its parts.</summary>
    public static ExplainNode Of(Combination how, string figure, Money value, string says, string citation, params IEnumerable<ExplainNode> parts) =>
        new(figure, value.ToString(), how, says, citation, null, [.. parts]);

    /// <summary>Another number that combines its parts.</summary>
    public static ExplainNode Of(Combination how, string figure, string value, string says, string citation, params IEnumerable<ExplainNode> parts) =>
        new(figure, value, how, says, citation, null, [.. parts]);

    /// <summary>A sum of nodes that all came from the same event is that event's; a sum of one node is that node under another name.</summary>
    public static ExplainNode SumOrOne(string figure, Money value, string says, string citation, IReadOnlyList<ExplainNode> parts) =>
        parts.Count == 1 ? parts[0] with { Figure = figure } : Of(Combination.Sum, figure, value, says, citation, parts);

    /// <summary>A count as it is printed.</summary>
    public static string Text(int count) => count.ToString(CultureInfo.InvariantCulture);

    /// <summary>An exact number of cents as dollars: a decimal where that ends within twelve places, else two whole numbers with a stroke.</summary>
    public static string Dollars(Fraction cents) => Text(cents * Fraction.Of(1, 100));

    /// <summary>An exact number, at least with two places where it is a decimal.</summary>
    public static string Text(Fraction number)
    {
        for (var places = 2; places <= MostPlaces; places++)
        {
            var scale = BigInteger.Pow(10, places);
            if (!(number.Above * scale % number.Below).IsZero) { continue; }
            var digits = BigInteger.Abs(number.Above * scale / number.Below).ToString(CultureInfo.InvariantCulture).PadLeft(places + 1, '0');
            return $"{(number.Above.Sign < 0 ? "-" : "")}{digits[..^places]}.{digits[^places..]}";
        }

        return number.ToString();
    }
}
