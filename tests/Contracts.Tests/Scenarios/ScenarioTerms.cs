using System.Globalization;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace Contracts.Tests.Scenarios;

/// <summary>What a terms block agrees: instrument, prices, rent, discounts, plan, fees, and where the family lives.</summary>
internal sealed partial class ScenarioTerms
{
    private readonly Dictionary<string, string> told;

    private ScenarioTerms(Dictionary<string, string> told) => this.told = told;

    private static readonly string[] Words =
    [
        "instrument", "cash price", "purchase price", "introductory", "monthly rent", "credit share", "early purchase",
        "plan", "late fee", "returned payment fee", "state", "area", "accessories",
    ];

    public static ScenarioTerms Read(IEnumerable<string> block)
    {
        var told = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var line in block)
        {
            var colon = line.IndexOf(": ", StringComparison.Ordinal);
            var word = colon < 0 ? line.Trim() : line[..colon].Trim();
            if (colon < 0 || !Words.Contains(word)) { throw new FormatException($"Terms do not say '{line.Trim()}'."); }
            told.Add(word, line[(colon + 2)..].Trim());
        }

        return new ScenarioTerms(told);
    }

    public string State => Told("state", "OR");

    public string Area => Told("area", "untaxed");

    public JsonObject Instrument
    {
        get
        {
            var words = told["instrument"].Split(' ');
            return new JsonObject { ["kind"] = string.Join(' ', words[..^1]), ["serial"] = words[^1], ["condition"] = "new" };
        }
    }

    /// <summary>Accessories are told as <c>stand 24.00 and rosin 6.50</c>.</summary>
    public JsonArray Accessories
    {
        get
        {
            var accessories = new JsonArray();
            if (!told.TryGetValue("accessories", out var text)) { return accessories; }
            foreach (var item in text.Split(" and "))
            {
                var space = item.LastIndexOf(' ');
                accessories.Add(new JsonObject { ["description"] = item[..space], ["price"] = item[(space + 1)..] });
            }

            return accessories;
        }
    }

    public JsonObject Terms
    {
        get
        {
            var late = Part(LateFee(), "late fee", "0.00 after 0 days");
            var terms = new JsonObject
            {
                ["cashPrice"] = Told("cash price", told["purchase price"]),
                ["purchasePrice"] = told["purchase price"],
                ["monthlyRent"] = told["monthly rent"],
                ["creditShare"] = Told("credit share", "1.00"),
                ["earlyPurchase"] = Tiers(Told("early purchase", "")),
                ["lateFee"] = new JsonObject { ["amount"] = late["amount"].Value, ["graceDays"] = Number(late["days"].Value) },
                ["returnedPaymentFee"] = Told("returned payment fee", "0.00"),
            };
            if (told.ContainsKey("introductory"))
            {
                var first = Part(Introductory(), "introductory", "");
                terms["introductory"] = new JsonObject { ["months"] = Number(first["months"].Value), ["payment"] = first["payment"].Value };
            }

            if (told.ContainsKey("plan"))
            {
                var plan = Part(Plan(), "plan", "");
                terms["plan"] = new JsonObject { ["monthly"] = plan["monthly"].Value, ["chargedInIntroductory"] = plan["first"].Success };
            }

            return terms;
        }
    }

    /// <summary>Tiers are told as <c>0.30 off through month 3, 0.20 off through month 12, then 0.15 off</c>.</summary>
    private static JsonArray Tiers(string text)
    {
        var tiers = new JsonArray();
        foreach (var tier in text.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            var match = Tier().Match(tier);
            if (!match.Success) { throw new FormatException($"No discount: {tier}"); }
            var json = new JsonObject { ["discount"] = match.Groups["discount"].Value };
            if (match.Groups["month"].Success) { json["throughMonth"] = Number(match.Groups["month"].Value); }
            tiers.Add(json);
        }

        return tiers;
    }

    private string Told(string word, string otherwise) => told.GetValueOrDefault(word, otherwise);

    private GroupCollection Part(Regex form, string word, string otherwise)
    {
        var match = form.Match(Told(word, otherwise));
        return match.Success ? match.Groups : throw new FormatException($"No {word}: {Told(word, otherwise)}");
    }

    private static int Number(string digits) => int.Parse(digits, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"^(?<amount>\S+) after (?<days>\d+) days$", RegexOptions.ExplicitCapture)]
    private static partial Regex LateFee();

    [GeneratedRegex(@"^(?<months>\d+) months? for (?<payment>\S+)$", RegexOptions.ExplicitCapture)]
    private static partial Regex Introductory();

    [GeneratedRegex(@"^(?<monthly>\S+) a month(?<first>, also in the introductory months)?$", RegexOptions.ExplicitCapture)]
    private static partial Regex Plan();

    [GeneratedRegex(@"^(then )?(?<discount>\S+) off( through month (?<month>\d+))?$", RegexOptions.ExplicitCapture)]
    private static partial Regex Tier();
}
