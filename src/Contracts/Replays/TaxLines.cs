using System.Text.Json.Nodes;
using Contracts.Terms;
using NodaTime.Text;

namespace Contracts.Replays;

/// <summary>Tax entries as command lines write them (docs/interface.md).</summary>
internal static class TaxLines
{
    public static void Add(JsonObject line, TaxEntry entry)
    {
        line["from"] = LocalDatePattern.Iso.Format(entry.From);
        line["rate"] = entry.Rate.ToString();
        line["taxes"] = new JsonObject { ["rent"] = entry.Taxes.Rent, ["plan"] = entry.Taxes.Plan, ["fees"] = entry.Taxes.Fees, ["sale"] = entry.Taxes.Sale };
        line["regime"] = entry.Regime.Word();
        if (entry.Parts.IsDefaultOrEmpty) { return; }
        line["parts"] = new JsonArray([.. entry.Parts.Select(part => (JsonNode)new JsonObject { ["authority"] = part.Authority, ["rate"] = part.Rate.ToString() })]);
    }
}
