using System.Globalization;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Scenarios;

/// <summary>
/// One account told in plain lines: what was agreed, what happened when (and when the shop learned it), and what the
/// account must then say. fixtures/scenarios/README.md has the few words of the format.
/// </summary>
/// <remarks>
/// Lines are told in the order in which the shop learned them. Those of one day are recorded from ten in the morning,
/// a minute apart; "known" on a day means at the end of that day.
/// </remarks>
public sealed partial class ScenarioFile
{
    private const string Contract = "C-1";

    private readonly InMemoryShop shop = new();
    private readonly Queue<ScenarioTerms> terms = [];
    private LocalDate lastRecorded = LocalDate.MinIsoValue;
    private int sameDay;

    private ScenarioFile() { }

    /// <summary>What did not come out as told, one sentence each; empty when everything did.</summary>
    public List<string> Faults { get; } = [];

    /// <summary>How many expectations were compared.</summary>
    public int Checked { get; private set; }

    public static ScenarioFile Play(IReadOnlyList<string> lines)
    {
        var scenario = new ScenarioFile();
        var expectations = new List<(int Number, string Text)>();
        for (var index = 0; index < lines.Count; index++)
        {
            var line = lines[index].TrimEnd();
            if (line.Length == 0 || line.StartsWith('#')) { continue; }
            if (line.StartsWith("terms", StringComparison.Ordinal))
            {
                var block = lines.Skip(index + 1).TakeWhile(next => next.StartsWith("  ", StringComparison.Ordinal)).ToList();
                scenario.terms.Enqueue(ScenarioTerms.Read(block));
                index += block.Count;
            }
            else if (line.StartsWith("on ", StringComparison.Ordinal)) { expectations.Add((index + 1, line)); }
            else { scenario.Happen(index + 1, line); }
        }

        // An account obeys what was known, so every expectation can be asked at the end.
        foreach (var (number, text) in expectations) { scenario.Expect(number, text); }
        return scenario;
    }

    private void Happen(int number, string line)
    {
        var match = Told().Match(line);
        if (!match.Success) { throw new FormatException($"Line {number} cannot be read: {line}"); }
        var on = Date(match.Groups["on"].Value);
        var recorded = match.Groups["recorded"] is { Success: true } told ? Date(told.Value) : on;
        if (recorded < lastRecorded) { throw new FormatException($"Line {number} was recorded before the line above it."); }
        sameDay = recorded == lastRecorded ? sameDay + 1 : 0;
        lastRecorded = recorded;

        var command = ScenarioSentences.Read(match.Groups["body"].Value, on, terms)
            ?? throw new FormatException($"Line {number} tells something unknown: {line}");
        var at = (recorded + new LocalTime(10, sameDay)).InZoneStrictly(InMemoryShop.Zone).ToInstant();
        command["key"] = match.Groups["key"] is { Success: true } key ? key.Value : $"line-{number}";
        command["at"] = InstantPattern.ExtendedIso.Format(at);
        if (match.Groups["reason"] is { Success: true } reason) { command["reason"] = reason.Value; }
        if ((string?)command["do"] is not ("set-tax" or "bill"))
        {
            command["contract"] = Contract;
            command["on"] = ScenarioSentences.Iso(on);
        }

        Compare(number, line, shop.Apply(command.ToJsonString()), match.Groups["code"], match.Groups["right"]);
    }

    private void Compare(int number, string line, Refusal? refusal, Group code, Group right)
    {
        if (!code.Success)
        {
            if (refusal is not null) { Faults.Add($"line {number} was refused ({refusal.Slug}: {refusal.Detail}): {line}"); }
            return;
        }

        Checked++;
        if (refusal is null) { Faults.Add($"line {number} was accepted: {line}"); }
        else if (refusal.Slug != code.Value) { Faults.Add($"line {number} was refused as {refusal.Slug}: {line}"); }
        else if (right.Success && refusal.RightFigure != right.Value)
        {
            Faults.Add($"line {number}: the right figure is said to be {refusal.RightFigure}: {line}");
        }
    }

    private void Expect(int number, string line)
    {
        var match = Asked().Match(line);
        if (!match.Success) { throw new FormatException($"Line {number} cannot be read: {line}"); }
        Instant? known = match.Groups["known"] is { Success: true } day
            ? Date(day.Value).PlusDays(1).AtStartOfDayInZone(InMemoryShop.Zone).ToInstant() - Duration.Epsilon
            : null;
        var account = shop.Account(Contract, Date(match.Groups["on"].Value), known);
        foreach (var told in match.Groups["figures"].Value.Split(',', StringSplitOptions.TrimEntries))
        {
            Checked++;
            var name = Figures.Keys.Where(name => told.StartsWith(name + " ", StringComparison.Ordinal)).MaxBy(name => name.Length)
                ?? throw new FormatException($"Line {number} has no such figure: {told}");
            var expected = told[(name.Length + 1)..];
            var actual = account is null ? "no account" : Figures[name](account);
            if (actual != expected) { Faults.Add($"line {number}: {name} is {actual}, told was {expected}"); }
        }
    }

    private static readonly Dictionary<string, Func<Account, string>> Figures = new(StringComparer.Ordinal)
    {
        ["status"] = a => a.Status,
        ["serial"] = a => a.Serial,
        ["equity"] = a => a.Equity.ToString(),
        ["carried equity"] = a => a.CarriedEquity.ToString(),
        ["remaining to own"] = a => a.RemainingToOwn.ToString(),
        ["past due"] = a => a.PastDue.ToString(),
        ["unapplied credit"] = a => a.UnappliedCredit.ToString(),
        ["goodwill"] = a => a.GoodwillCredit.ToString(),
        ["merchandise credit"] = a => a.MerchandiseCredit.ToString(),
        ["price"] = a => a.EarlyPurchase.Price.ToString(),
        ["basis"] = a => a.EarlyPurchase.Basis,
        ["sale tax"] = a => a.EarlyPurchase.Tax.ToString(),
        ["payoff"] = a => a.EarlyPurchase.Payoff.ToString(),
        ["paid in all"] = a => a.Paid.Total.ToString(),
        ["rent paid"] = a => a.Paid.Rent.ToString(),
        ["plan paid"] = a => a.Paid.Plan.ToString(),
        ["tax paid"] = a => a.Paid.Tax.ToString(),
        ["fees paid"] = a => a.Paid.Fees.ToString(),
        ["accessories paid"] = a => a.Paid.Accessories.ToString(),
        ["purchase paid"] = a => a.Paid.Purchase.ToString(),
        ["installments in all"] = a => Count(a.Installments.Total),
        ["installments due"] = a => Count(a.Installments.Due),
        ["installments paid"] = a => Count(a.Installments.Paid),
        ["installments left"] = a => Count(a.Installments.Remaining),
        ["remaining by schedule"] = a => a.RemainingBySchedule.ToString(),
        ["total cost"] = a => a.TotalCost.ToString(),
        ["cost of rental"] = a => a.CostOfRental.ToString(),
        ["next due"] = a => a.NextDue is { } next ? $"{ScenarioSentences.Iso(next.On)} {next.Amount}" : "nothing",
    };

    private static string Count(int count) => count.ToString(CultureInfo.InvariantCulture);

    private static LocalDate Date(string day) => LocalDatePattern.Iso.Parse(day).GetValueOrThrow();

    [GeneratedRegex(@"^(?<on>\d{4}-\d\d-\d\d)( \(recorded (?<recorded>\d{4}-\d\d-\d\d)\))? (?<body>.+?)( as (?<key>[a-z0-9-]+))?"
        + @"(: (?<reason>.+?))?( -> refused (?<code>[a-z-]+)(, right is (?<right>\S+))?)?$", RegexOptions.ExplicitCapture)]
    private static partial Regex Told();

    [GeneratedRegex(@"^on (?<on>\S+?)( known (?<known>\S+?))?: (?<figures>.+)$", RegexOptions.ExplicitCapture)]
    private static partial Regex Asked();
}
