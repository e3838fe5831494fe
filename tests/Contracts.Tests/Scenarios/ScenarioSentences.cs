using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Scenarios;

/// <summary>Turns what happened, in a shop's words, into the fields of a command line.</summary>
internal static class ScenarioSentences
{
    private const string Amount = @"(?<amount>\d+\.\d\d)";
    private const string Money = Amount + @"( (?<method>cash|card|check))?";
    private const string Day = @"\d{4}-\d\d-\d\d";

    private static readonly (Regex Form, Func<Match, LocalDate, Queue<ScenarioTerms>, JsonObject> Command)[] Sentences =
    [
        (Form(@"sign(?<plan> with the plan)?( from (?<start>" + Day + "))?(?<begins> at delivery)?"), Sign),
        (Form($"deliver(, it came on (?<deliveredOn>{Day}))?"), (m, _, _) => Do("deliver", m, "deliveredOn")),
        (Form("pay " + Money), (m, _, _) => Paid("pay", m)),
        (Form("buy " + Money), (m, _, _) => Paid("buy", m)),
        (Form(@"reverse (?<payment>\S+) (?<code>\S+)"), (m, _, _) => Do("reverse-payment", m, "payment", "code")),
        (Form("refund " + Amount), (m, _, _) => Do("refund", m, "amount")),
        (Form("credit " + Amount), (m, _, _) => Do("credit", m, "amount")),
        (Form("elect the plan"), (m, _, _) => Do("elect-plan", m)),
        (Form("cancel the plan"), (m, _, _) => Do("cancel-plan", m)),
        (Form($@"swap to (?<serial>\S+) with the old one back by (?<returnBy>{Day})"), (m, _, _) => Do("swap", m, "serial", "returnBy")),
        (Form(@"receive (?<serial>\S+)"), (m, _, _) => Do("receive-unit", m, "serial")),
        (Form("exchange"), (m, _, terms) => Agreed(Do("exchange", m), terms.Dequeue())),
        (Form("return"), (m, _, _) => Do("return", m)),
        (Form(@"waive (?<fee>\S+)"), (m, _, _) => Do("waive", m, "fee")),
        (Form(@"move to (?<state>[A-Z]{2}) (?<jurisdiction>\S+)"), (m, _, _) => Do("move", m, "state", "jurisdiction")),
        (Form("report (?<kind>lost|stolen)"), (m, _, _) => Do("report-loss", m, "kind")),
        (Form("hold"), (m, _, _) => Do("hold", m)),
        (Form("release"), (m, _, _) => Do("release", m)),
        (Form(@"reinstate( with (?<serial>\S+))?"), (m, _, _) => Do("reinstate", m, "serial")),
        (Form($@"step up (?<share>\S+) to (?<description>.+) for {Amount}"), StepUp),
        (Form($@"spend {Amount} on (?<description>.+) sold for (?<price>\d+\.\d\d)"), SpendCredit),
        (Form("write off " + Amount), (m, _, _) => Do("write-off", m, "amount")),
        (Form("recover " + Amount), (m, _, _) => Do("recover", m, "amount")),
        (Form("bill"), (m, on, _) => Bill(on)),
        (Form($@"tax (?<jurisdiction>\S+) (?<rate>\S+) from (?<from>{Day}) on (?<parts>[a-z, ]+?)( by (?<regime>[a-z-]+))?"), (m, _, _) => Tax(m)),
    ];

    public static JsonObject? Read(string body, LocalDate on, Queue<ScenarioTerms> terms)
    {
        foreach (var (form, command) in Sentences)
        {
            if (form.Match(body) is { Success: true } match) { return command(match, on, terms); }
        }

        return null;
    }

    public static string Iso(LocalDate date) => LocalDatePattern.Iso.Format(date);

    private static JsonObject Sign(Match match, LocalDate on, Queue<ScenarioTerms> terms)
    {
        var agreed = terms.Dequeue();
        var sign = Agreed(Do("sign", match), agreed);
        sign["household"] = "an invented family";
        sign["state"] = agreed.State;
        sign["jurisdiction"] = agreed.Area;
        sign["startOn"] = match.Groups["start"] is { Success: true } start ? start.Value : Iso(on);
        if (match.Groups["begins"].Success) { sign["startsAtDelivery"] = true; }
        sign["planElected"] = match.Groups["plan"].Success;
        return sign;
    }

    private static JsonObject Agreed(JsonObject command, ScenarioTerms agreed)
    {
        command["instrument"] = agreed.Instrument;
        command["terms"] = agreed.Terms;
        command["accessories"] = agreed.Accessories;
        return command;
    }

    private static JsonObject Paid(string command, Match match)
    {
        var paid = Do(command, match, "amount", "method");
        paid["method"] ??= "cash";
        return paid;
    }

    private static JsonObject StepUp(Match match, LocalDate on, Queue<ScenarioTerms> terms)
    {
        var step = Do("step-up", match, "share");
        step["sale"] = new JsonObject { ["description"] = match.Groups["description"].Value, ["price"] = match.Groups["amount"].Value };
        return step;
    }

    private static JsonObject SpendCredit(Match match, LocalDate on, Queue<ScenarioTerms> terms)
    {
        var spend = Do("spend-credit", match, "amount");
        spend["sale"] = new JsonObject { ["description"] = match.Groups["description"].Value, ["price"] = match.Groups["price"].Value };
        return spend;
    }

    private static JsonObject Bill(LocalDate on) => new() { ["do"] = "bill", ["through"] = Iso(on) };

    private static JsonObject Tax(Match match)
    {
        var tax = Do("set-tax", match, "jurisdiction", "rate", "from", "regime");
        var taxes = new JsonObject();
        foreach (var part in match.Groups["parts"].Value.Split(',', StringSplitOptions.TrimEntries))
        {
            if (part != "nothing") { taxes[part] = true; }
        }

        tax["taxes"] = taxes;
        return tax;
    }

    private static JsonObject Do(string command, Match match, params ReadOnlySpan<string> fields)
    {
        var json = new JsonObject { ["do"] = command };
        foreach (var field in fields)
        {
            if (match.Groups[field] is { Success: true } told) { json[field] = told.Value; }
        }

        return json;
    }

    private static Regex Form(string form) =>
        new($"^{form}$", RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant, TimeSpan.FromSeconds(1));
}
