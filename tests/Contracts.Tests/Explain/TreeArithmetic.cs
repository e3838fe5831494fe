using System.Globalization;
using System.Numerics;
using System.Text.Json.Nodes;

namespace Contracts.Tests.Explain;

/// <summary>
/// Works a printed tree out again: reads the JSON and nothing else, with an arithmetic of its own that follows the table of
/// docs/explain.md. It shares no code with what made the tree.
/// </summary>
internal static class TreeArithmetic
{
    private readonly record struct Ratio(BigInteger Above, BigInteger Below)
    {
        public static Ratio Read(string text)
        {
            var stroke = text.Split('/');
            if (stroke.Length == 2) { return Of(Whole(stroke[0]), Whole(stroke[1])); }
            var dot = text.IndexOf('.', StringComparison.Ordinal);
            var places = dot < 0 ? 0 : text.Length - dot - 1;
            return Of(Whole(text.Replace(".", "", StringComparison.Ordinal)), BigInteger.Pow(10, places));
        }

        public static Ratio Of(BigInteger above, BigInteger below) => below.Sign < 0 ? new Ratio(-above, -below) : new Ratio(above, below);

        public static Ratio operator +(Ratio a, Ratio b) => new((a.Above * b.Below) + (b.Above * a.Below), a.Below * b.Below);

        public static Ratio operator -(Ratio a, Ratio b) => new((a.Above * b.Below) - (b.Above * a.Below), a.Below * b.Below);

        public static Ratio operator *(Ratio a, Ratio b) => new(a.Above * b.Above, a.Below * b.Below);

        public static Ratio operator /(Ratio a, Ratio b) => Of(a.Above * b.Below, a.Below * b.Above);

        public bool Same(Ratio other) => Above * other.Below == other.Above * Below;

        public bool Below1(Ratio other) => Above * other.Below < other.Above * Below;

        /// <summary>To the nearest hundredth, half away from nothing.</summary>
        public Ratio Nearest()
        {
            var twice = BigInteger.Abs(Above) * 200;
            var cents = (twice + Below) / (Below * 2);
            return new Ratio(Above.Sign * cents, 100);
        }

        /// <summary>Cut off at the hundredth below.</summary>
        public Ratio Down()
        {
            var cents = BigInteger.DivRem(Above * 100, Below, out var rest);
            return new Ratio(rest.Sign < 0 ? cents - 1 : cents, 100);
        }

        private static BigInteger Whole(string digits) => BigInteger.Parse(digits, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture);
    }

    /// <summary>What does not hold in a tree, each with its place; nothing when it all works out.</summary>
    public static List<string> Faults(JsonNode tree)
    {
        var faults = new List<string>();
        Walk(tree, "", faults);
        return faults;
    }

    private static void Walk(JsonNode node, string place, List<string> faults)
    {
        var at = $"{place}/{(string)node["figure"]!}";
        var rule = (string)node["rule"]!;
        var word = rule[..rule.IndexOf(':', StringComparison.Ordinal)];
        var value = Ratio.Read((string)node["value"]!);
        var parts = node["parts"]!.AsArray().Select(part => part!).ToList();
        foreach (var part in parts) { Walk(part, at, faults); }
        if (string.IsNullOrEmpty((string?)node["citation"])) { faults.Add($"{at} cites nothing"); }
        if (word == "given")
        {
            if (parts.Count > 0) { faults.Add($"{at} is given and has parts"); }
            return;
        }

        if (!Combine(word, [.. parts.Select(part => Ratio.Read((string)part["value"]!))]).Same(value))
        {
            faults.Add($"{at} = {node["value"]} is not {rule}");
        }
    }

    private static Ratio Combine(string word, List<Ratio> parts) => word switch
    {
        "sum" => parts.Aggregate(new Ratio(0, 1), (sum, part) => sum + part),
        "difference" => parts.Skip(1).Aggregate(parts[0], (left, part) => left - part),
        "product" => parts.Aggregate(new Ratio(1, 1), (product, part) => product * part),
        "quotient" when parts.Count == 2 => parts[0] / parts[1],
        "rounded-product" => parts.Aggregate(new Ratio(1, 1), (product, part) => product * part).Nearest(),
        "rounded-quotient" when parts.Count == 2 => (parts[0] / parts[1]).Nearest(),
        "rounded" when parts.Count == 1 => parts[0].Nearest(),
        "rounded-down" when parts.Count == 1 => parts[0].Down(),
        "lowest" => parts.Aggregate((low, part) => part.Below1(low) ? part : low),
        "highest" => parts.Aggregate((high, part) => high.Below1(part) ? part : high),
        "count" => new Ratio(parts.Count, 1),
        _ => throw new InvalidOperationException($"'{word}' of {parts.Count} parts is no combination of docs/explain.md."),
    };
}
