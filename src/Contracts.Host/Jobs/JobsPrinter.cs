using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Jobs;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Jobs;

/// <summary>Prints runs of jobs.</summary>
public static class JobsPrinter
{
    /// <summary>A list of runs.</summary>
    public static void Print(IReadOnlyList<JobRun> runs, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: AnsiConsole.Write(Table(runs)); break;
            case OutputFormat.Csv:
                Console.Out.WriteLine("job,day,beganAt,endedAt,attempts,done,total,state");
                foreach (var run in runs)
                {
                    Console.Out.WriteLine(string.Join(
                        ',', run.Job, Day(run.Day), InstantPattern.ExtendedIso.Format(run.BeganAt), run.EndedAt is { } at ? InstantPattern.ExtendedIso.Format(at) : "",
                        run.Attempts, run.Done, run.Total?.ToString(System.Globalization.CultureInfo.InvariantCulture) ?? "", State(run)));
                }

                break;
            case OutputFormat.Json: Console.Out.WriteLine(Json(runs)); break;
            default:
                foreach (var run in runs) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, run, whole: false))); }
                break;
        }
    }

    /// <summary>One run with what came of it.</summary>
    public static void Show(JobRun run, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(run));
            return;
        }

        AnsiConsole.Write(Table([run]));
        PrintTasks(run);
    }

    /// <summary>What came of a run: what it asks for as a table, else as it is.</summary>
    internal static void PrintTasks(JobRun run)
    {
        if (run.Outcome is null) { return; }
        using var outcome = JsonDocument.Parse(run.Outcome);
        if (!outcome.RootElement.TryGetProperty("tasks", out var tasks))
        {
            Console.Out.WriteLine(run.Outcome);
            return;
        }

        var table = AccountPrinter.Plain().AddColumns("what", "contract", "day", "about", "amount", "paper");
        foreach (var task in tasks.EnumerateArray())
        {
            table.AddRow(Text(task, "kind"), Text(task, "contract"), Text(task, "on"), Text(task, "about"), Text(task, "amount"), Text(task, "paper") + Text(task, "refused"));
        }

        AnsiConsole.Write(table);
        Console.Out.WriteLine("Which notices a family is owed, and in which words, varies by state; ask local counsel.");
    }

    /// <summary>A list as JSON, without what came of each.</summary>
    public static string Json(IReadOnlyList<JobRun> runs) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var run in runs) { Write(json, run, whole: false); }
        json.WriteEndArray();
    });

    /// <summary>One run as JSON, with what came of it.</summary>
    public static string Json(JobRun run) => AccountPrinter.Json(json => Write(json, run, whole: true));

    /// <summary>How a run stands, as a word.</summary>
    public static string State(JobRun run) => run.EndedAt is not null ? "done" : run.IsHeld ? "running" : run.Fault is not null ? "failed" : "cut off";

    /// <summary>What came of a run, in a few words.</summary>
    public static string Words(JobRun run)
    {
        if (run.Fault is { } fault) { return fault; }
        if (run.Outcome is null) { return run.Total is { } total ? $"{run.Done} of {total}" : ""; }
        using var outcome = JsonDocument.Parse(run.Outcome);
        var root = outcome.RootElement;
        if (root.TryGetProperty("breaches", out var breaches)) { return $"{breaches.GetArrayLength()} breaches"; }
        if (root.TryGetProperty("events", out var events)) { return $"{events} new notes"; }
        if (root.TryGetProperty("alarms", out var alarms)) { return $"{alarms} alarms"; }
        if (root.TryGetProperty("faults", out var faults)) { return $"{faults.GetArrayLength()} faults"; }
        if (!root.TryGetProperty("tasks", out var tasks)) { return ""; }
        var all = tasks.EnumerateArray().ToList();
        return $"{all.Count} to look at, {all.Count(task => task.TryGetProperty("paper", out _))} papers made";
    }

    private static Table Table(IReadOnlyList<JobRun> runs)
    {
        var table = AccountPrinter.Plain().AddColumns("job", "for", "began (UTC)", "state", "tries", "what came of it");
        foreach (var run in runs)
        {
            table.AddRow(
                run.Job, Day(run.Day), run.BeganAt.ToString("uuuu-MM-dd HH:mm", null), State(run),
                run.Attempts.ToString(System.Globalization.CultureInfo.InvariantCulture), Markup.Escape(Words(run)));
        }

        return table;
    }

    private static void Write(Utf8JsonWriter json, JobRun run, bool whole)
    {
        json.WriteStartObject();
        json.WriteString("job", run.Job);
        json.WriteString("day", Day(run.Day));
        json.WriteString("state", State(run));
        json.WriteString("beganAt", InstantPattern.ExtendedIso.Format(run.BeganAt));
        if (run.EndedAt is { } ended) { json.WriteString("endedAt", InstantPattern.ExtendedIso.Format(ended)); }
        json.WriteNumber("attempts", run.Attempts);
        json.WriteNumber("done", run.Done);
        if (run.Total is { } total) { json.WriteNumber("total", total); }
        if (run.Fault is { } fault) { json.WriteString("fault", fault); }
        if (whole && run.Outcome is { } outcome)
        {
            json.WritePropertyName("outcome");
            json.WriteRawValue(outcome);
        }
        else { json.WriteString("words", Words(run)); }

        json.WriteEndObject();
    }

    private static string Day(LocalDate day) => LocalDatePattern.Iso.Format(day);

    private static string Text(JsonElement of, string name) => of.TryGetProperty(name, out var value) ? Markup.Escape(value.GetString() ?? "") : "";
}
