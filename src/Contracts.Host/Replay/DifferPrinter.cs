using System.Globalization;
using Contracts.Host.Terminal;
using Contracts.Replays;

namespace Contracts.Host.Replay;

/// <summary>Prints where two builds part: as JSON, or as words for a person.</summary>
internal static class DifferPrinter
{
    /// <summary>Prints a report.</summary>
    public static async Task PrintAsync(DifferReport report, ReplaySource source, OutputFormat format, CancellationToken stop)
    {
        var answer = await DifferAnswer.OfAsync(report, source, stop).ConfigureAwait(false);
        if (format == OutputFormat.Table) { PrintWords(report, answer.Causes); }
        else { Console.Out.WriteLine(answer.Json()); }
    }

    private static void PrintWords(DifferReport report, IReadOnlyList<ToldCause> causes)
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

        Console.Out.WriteLine(DifferAnswer.Caution);
    }

    private static string Range(Cause cause, Parting figure)
    {
        if (figure.By is not { } by || !cause.Ranges.TryGetValue(figure.Figure, out var range)) { return ""; }
        return range.Least == range.Most
            ? $"  by {FigureVector.Words(figure.Figure, by)}"
            : $"  by {FigureVector.Words(figure.Figure, by)} ({FigureVector.Words(figure.Figure, range.Least)} to {FigureVector.Words(figure.Figure, range.Most)})";
    }
}
