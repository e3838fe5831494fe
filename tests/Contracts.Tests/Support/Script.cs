using System.Globalization;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Instruments;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Support;

/// <summary>
/// A contract's life in short lines: <c>day [recorded day] command name=value ...</c>. Each line is recorded at noon of
/// its day unless it says otherwise, and has the key L1, L2, ... unless it says otherwise.
/// </summary>
/// <remarks>
/// A bare <c>sign</c> is a clarinet at 1195.00, introductory 2 months for 45.00, then 38.00 a month, all credited,
/// plan 7.00 not elected, late fee 5.00 after 7 days, returned payment fee 20.00, untaxed, in Oregon.
/// </remarks>
public sealed class Script
{
    private int lines;

    public InMemoryShop Shop { get; } = new();

    public Refusal? LastRefusal { get; private set; }

    public static Script Given(string text) => new Script().Live(text);

    private Script Live(string text)
    {
        var script = this;
        script.Tax("untaxed", "0", "");
        script.Tax("taxed", "0.08", "rent plan fees sale");
        script.Tax("sale-only", "0.07", "sale");
        script.Tax("delivery", "0.08", "rent plan fees sale", "whole-price-at-delivery");
        script.Tax("lessor", "0.0625", "rent sale", "lessor-cost");
        script.Tax("net", "0.0725", "rent", "net-price-at-purchase");
        script.Tax("three", "0.0825", "rent plan fees sale", "each-payment", ("a state", "0.065"), ("a county", "0.0125"), ("a city", "0.005"));
        foreach (var line in text.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            Assert.True(script.Say(line) is null, $"{line}: {script.LastRefusal?.Slug} {script.LastRefusal?.Detail}");
        }

        return script;
    }

    /// <summary>A pack is adopted before anything else is said; see <see cref="TestPack"/>.</summary>
    public static Script GivenLaw(string pack, string text = "")
    {
        var script = new Script();
        var adopt = new JsonObject { ["do"] = "adopt-law", ["key"] = "law", ["at"] = "2020-01-01T12:00:00Z", ["pack"] = pack };
        Assert.Null(script.Shop.Apply(adopt.ToJsonString()));
        return script.Live(text);
    }

    public Script When(string line)
    {
        Say(line);
        return this;
    }

    public Script ThenRefused(RefusalCode code, string? rightFigure = null)
    {
        Assert.Equal(code, LastRefusal?.Code);
        if (rightFigure is not null) { Assert.Equal(rightFigure, LastRefusal!.RightFigure); }
        return this;
    }

    public Script ThenAccepted()
    {
        Assert.True(LastRefusal is null, LastRefusal?.Detail);
        return this;
    }

    public Account On(string day, string? known = null, string contract = "C-1") =>
        Shop.Account(contract, Date(day), known is null ? null : Noon(Date(known)))
        ?? throw new InvalidOperationException("No account on that day.");

    /// <summary>The events after the given facts, as short words, for what a command recorded.</summary>
    public IReadOnlyList<string> Recorded(string contract = "C-1") =>
        [.. Shop.History(contract).Entries.Select(entry => $"{entry.Event.GetType().Name} {entry.Event.On:uuuu-MM-dd}")];

    private Refusal? Say(string line)
    {
        var words = new Queue<string>(line.Split(' ', StringSplitOptions.RemoveEmptyEntries));
        var on = words.Dequeue();
        var recorded = on;
        if (words.Peek().StartsWith('@')) { recorded = words.Dequeue()[1..]; }
        var name = words.Dequeue();
        var command = new JsonObject
        {
            ["do"] = name, ["key"] = $"L{++lines}", ["contract"] = "C-1", ["on"] = on,
            ["at"] = InstantPattern.ExtendedIso.Format(Noon(Date(recorded))),
        };
        var options = words.Select(word => word.Split('=', 2)).ToDictionary(pair => pair[0], pair => pair[1], StringComparer.Ordinal);
        if (name is "sign" or "exchange" or "quote") { TermsOf(command, name, options); }
        if (name is "inspect-unit") { ResultsOf(command, options); }
        if (name is "bill") { command.Remove("on"); command.Remove("contract"); command["through"] = on; }
        if (options.Remove("sale", out var sale)) { command["sale"] = new JsonObject { ["description"] = "a better one", ["price"] = sale }; }
        foreach (var (field, value) in options) { command[field] = value; }
        return LastRefusal = Shop.Apply(command.ToJsonString());
    }

    /// <summary>Every item of the checklist: good, but for those after <c>fails=</c>; <c>leave=</c> leaves one out, <c>more=</c> adds one.</summary>
    private static void ResultsOf(JsonObject command, Dictionary<string, string> options)
    {
        var fails = options.Remove("fails", out var some) ? some.Split(',') : [];
        options.Remove("leave", out var left);
        var items = Checklist.Find("band-and-orchestra.1")!.Items.Select(item => item.Item).Where(item => item != left).ToList();
        if (options.Remove("more", out var more)) { items.Add(more); }
        command["checklist"] = options.Remove("list", out var list) ? list : "band-and-orchestra.1";
        command["inspector"] = "an inspector";
        command["passed"] = options.Remove("passed", out var passed) ? passed == "yes" : fails.Length == 0;
        command["results"] = new JsonArray([.. items.Select(item => (JsonNode)new JsonObject { ["item"] = item, ["result"] = fails.Contains(item) ? "fails" : "good" })]);
    }

    private static void TermsOf(JsonObject command, string name, Dictionary<string, string> options)
    {
        string Take(string option, string otherwise) => options.Remove(option, out var value) ? value : otherwise;
        var introductory = Take("intro", "2x45.00").Split('x');
        var late = Take("late", "5.00/7").Split('/');
        var plan = Take("plan", "7.00");
        var price = Take("price", "1195.00");
        var terms = new JsonObject
        {
            ["cashPrice"] = Take("cash", price),
            ["purchasePrice"] = price,
            ["introductory"] = new JsonObject { ["months"] = int.Parse(introductory[0], CultureInfo.InvariantCulture), ["payment"] = introductory[1] },
            ["monthlyRent"] = Take("rent", "38.00"),
            ["creditShare"] = Take("share", "1.00"),
            ["earlyPurchase"] = Tiers(Take("tiers", "3:0.40,12:0.30,*:0.25")),
            ["lateFee"] = new JsonObject { ["amount"] = late[0], ["graceDays"] = int.Parse(late[1], CultureInfo.InvariantCulture) },
            ["returnedPaymentFee"] = Take("returned", "20.00"),
        };
        if (plan != "none")
        {
            terms["plan"] = new JsonObject { ["monthly"] = plan, ["chargedInIntroductory"] = Take("planInIntro", "no") == "yes" };
        }

        command["terms"] = terms;
        var instrument = new JsonObject
        {
            ["kind"] = "clarinet", ["serial"] = Take("serial", name is "sign" or "quote" ? "HC-1" : "HA-9"), ["condition"] = Take("condition", "new"),
        };
        if (options.Remove("cost", out var cost)) { instrument["cost"] = cost; }
        if ((string)instrument["condition"]! == "none") { instrument.Remove("condition"); }
        if (options.Remove("location", out var place)) { instrument["location"] = place.Replace('_', ' '); }
        command["instrument"] = instrument;
        command["accessories"] = options.Remove("accessories", out var stand)
            ? new JsonArray(new JsonObject { ["description"] = "stand", ["price"] = stand })
            : [];
        if (name == "exchange") { return; }
        command["household"] = Take("household", "H-1");
        command["state"] = Take("state", "OR");
        command["jurisdiction"] = Take("area", "untaxed");
        command["startOn"] = Take("start", (string)command["on"]!);
        command["planElected"] = Take("elected", "no") == "yes";
        if (options.Remove("begins", out var begins)) { command["startsAtDelivery"] = begins == "delivery"; }
    }

    private static JsonArray Tiers(string text)
    {
        var tiers = new JsonArray();
        foreach (var tier in text.Split(',', StringSplitOptions.RemoveEmptyEntries))
        {
            var parts = tier.Split(':');
            var json = new JsonObject { ["discount"] = parts[1] };
            if (parts[0] != "*") { json["throughMonth"] = int.Parse(parts[0], CultureInfo.InvariantCulture); }
            tiers.Add(json);
        }

        return tiers;
    }

    private void Tax(
        string area, string rate, string taxed, string regime = "each-payment", params ReadOnlySpan<(string Authority, string Rate)> parts)
    {
        var list = new JsonArray();
        foreach (var part in parts) { list.Add(new JsonObject { ["authority"] = part.Authority, ["rate"] = part.Rate }); }

        var taxes = new JsonObject();
        foreach (var part in taxed.Split(' ', StringSplitOptions.RemoveEmptyEntries)) { taxes[part] = true; }
        var command = new JsonObject
        {
            ["do"] = "set-tax", ["key"] = $"tax-{area}", ["at"] = "2020-01-01T00:00:00Z", ["jurisdiction"] = area,
            ["rate"] = rate, ["from"] = "2020-01-01", ["taxes"] = taxes, ["regime"] = regime,
        };
        if (list.Count > 0) { command["parts"] = list; }
        Assert.Null(Shop.Apply(command.ToJsonString()));
    }

    private static LocalDate Date(string day) => LocalDatePattern.Iso.Parse(day).Value;

    private static Instant Noon(LocalDate day) => (day + new LocalTime(12, 0)).InZoneStrictly(InMemoryShop.Zone).ToInstant();
}
