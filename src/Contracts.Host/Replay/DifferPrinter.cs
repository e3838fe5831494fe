using System.Globalization;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Replays;

namespace Contracts.Host.Replay;

/// <summary>Prints where two builds part: as JSON, or as words for a person.</summary>
internal static class DifferPrinter
{
    /// <summary>A cause, and where this build's rule and the event behind it can be looked at.</summary>
    private sealed record Told(Cause Cause, string? Rule, string? Explain, string? Step);

    private const string Caution = "Rent-to-own disclosure rules vary by state; ask local counsel.";

    /// <summary>Prints a report; the rule of each cause is asked of this build.</summary>
    public static async Task PrintAsync(DifferReport report, ReplaySource source, OutputFormat format, CancellationToken stop)
    {
        var causes = new List<Told>();
        foreach (var cause in report.Groups.Causes)
        {
            var rule = await BuildDiffer.RuleAsync(source, cause, stop).ConfigureAwait(false);
            causes.Add(new Told(
                cause, rule is null ? null : $"{rule.Says} [{rule.Citation}]", await BuildDiffer.ExplainAsync(source, cause, stop).ConfigureAwait(false),
                await BuildDiffer.StepAsync(source, cause.Amounts ?? cause.First, stop).ConfigureAwait(false)));
        }

        if (format == OutputFormat.Table) { PrintWords(report, causes); }
        else { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, report, causes))); }
    }

    private static void PrintWords(DifferReport report, List<Told> causes)
    {
        Console.Out.WriteLine(report.Same
            ? string.Create(CultureInfo.InvariantCulture, $"{report.Contracts:N0} contracts, all the same")
            : string.Create(CultureInfo.InvariantCulture, $"{report.Contracts:N0} contracts, {report.Groups.Parted:N0} part, {causes.Count:N0} kinds of difference"));
        foreach (var (cause, rule, explain, step) in causes)
        {
            var first = cause.First;
            Console.Out.WriteLine();
            var more = cause.Count > cause.Contracts.Length ? ", ..." : "";
            Console.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{cause.Count:N0} at {first.Kind}: {string.Join(", ", cause.Contracts)}{more}"));
            if (rule is not null) { Console.Out.WriteLine($"  {cause.Leading}: {rule}"); }
            Console.Out.WriteLine(first.Sequence == 0
                ? $"  first: {first.Contract}, {(first.Kind == ResultLine.Today ? $"on {first.On}, after its last event" : "as a whole")}"
                : string.Create(CultureInfo.InvariantCulture, $"  first: {first.Contract}, event {first.Number} of its stream (sequence {first.Sequence}), figures of {first.On}"));
            foreach (var figure in first.Figures) { Console.Out.WriteLine($"    {figure.Figure,-44} recorded {figure.Theirs,12}  now {figure.Ours,12}{Range(cause, figure)}"); }
            if (cause.Amounts is { } amounts)
            {
                Console.Out.WriteLine(amounts.Sequence == 0
                    ? $"  first amounts: {amounts.Contract}, on {amounts.On}, after its last event"
                    : string.Create(CultureInfo.InvariantCulture, $"  first amounts: {amounts.Contract}, event {amounts.Number}, {amounts.Kind}, figures of {amounts.On}"));
                foreach (var figure in amounts.Figures.Where(one => one.By is not null))
                {
                    Console.Out.WriteLine($"    {figure.Figure,-44} recorded {figure.Theirs,12}  now {figure.Ours,12}");
                }
            }

            if (explain is not null) { Console.Out.WriteLine($"  {explain}"); }
            if (step is not null) { Console.Out.WriteLine($"  {step}"); }
        }

        Console.Out.WriteLine(Caution);
    }

    private static string Range(Cause cause, Parting figure)
    {
        if (figure.By is not { } by || !cause.Ranges.TryGetValue(figure.Figure, out var range)) { return ""; }
        return range.Least == range.Most
            ? $"  by {FigureVector.Words(figure.Figure, by)}"
            : $"  by {FigureVector.Words(figure.Figure, by)} ({FigureVector.Words(figure.Figure, range.Least)} to {FigureVector.Words(figure.Figure, range.Most)})";
    }

    private static void Write(Utf8JsonWriter json, DifferReport report, List<Told> causes)
    {
        json.WriteStartObject();
        json.WriteBoolean("same", report.Same);
        json.WriteNumber("contracts", report.Contracts);
        json.WriteNumber("parted", report.Groups.Parted);
        json.WriteStartArray("causes");
        foreach (var (cause, rule, explain, step) in causes)
        {
            json.WriteStartObject();
            json.WriteNumber("count", cause.Count);
            json.WriteString("event", cause.First.Kind);
            json.WriteString("leading", cause.Leading);
            json.WriteString("rule", rule);
            json.WriteStartArray("contracts");
            foreach (var contract in cause.Contracts) { json.WriteStringValue(contract); }
            json.WriteEndArray();
            json.WritePropertyName("first");
            Write(json, cause.First, cause);
            json.WritePropertyName("amounts");
            if (cause.Amounts is { } amounts) { Write(json, amounts, null); } else { json.WriteNullValue(); }
            json.WriteString("explain", explain);
            json.WriteString("step", step);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteString("caution", Caution);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, FirstDifference first, Cause? cause)
    {
        json.WriteStartObject();
        json.WriteString("contract", first.Contract);
        json.WriteNumber("number", first.Number);
        json.WriteNumber("sequence", first.Sequence);
        json.WriteString("on", first.On);
        json.WriteStartArray("figures");
        foreach (var figure in first.Figures)
        {
            json.WriteStartObject();
            json.WriteString("figure", figure.Figure);
            json.WriteString("recorded", figure.Theirs);
            json.WriteString("now", figure.Ours);
            if (figure.By is { } by)
            {
                json.WriteString("by", FigureVector.Words(figure.Figure, by));
                if (cause is null)
                {
                    json.WriteEndObject();
                    continue;
                }

                var (least, most) = cause.Ranges[figure.Figure];
                json.WriteString("least", FigureVector.Words(figure.Figure, least));
                json.WriteString("most", FigureVector.Words(figure.Figure, most));
            }

            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }
}
