using System.CommandLine;
using System.Text.Json;
using Contracts.Books;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Replays;
using Contracts.Store;
using NodaTime.Text;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Replay;

/// <summary>`contracts step`: a contract event by event, with what is otherwise after each, and the first event after which a condition holds.</summary>
public static class StepCommand
{
    private const int NeverHolds = 1;

    /// <summary>The command with its argument and options.</summary>
    public static Command Build()
    {
        var contract = new Argument<string?>("contract") { Description = "The contract's id; may be left out where a file has only one.", Arity = ArgumentArity.ZeroOrOne };
        var until = new Option<string?>("--until")
        {
            Description = "Show only the first event after which this holds, such as \"equity < 0\" or \"status = returned and pastDue > 38.00\" (docs/replay.md).",
        };
        var file = ReplaySource.FileOption();
        var law = ReplaySource.LawOption();
        var known = CommonOptions.Known();
        var command = new Command("step", "Walk a contract event by event: figures before, event, figures after, postings. Exit 1 when --until never holds.")
        {
            contract, until, file, law, known,
        };
        command.SetAction((parse, stop) =>
        {
            var condition = Read(parse.GetValue(until));
            return ReplayRun.OnAsync(
                parse, parse.GetValue(file), parse.GetValue(law), (parse.GetValue(known)?.In(Session.Zone), null),
                async (source, format) =>
                {
                    var id = parse.GetValue(contract) ?? source.Only ?? throw new UsageException("Which contract? Name one.");
                    return await source.HistoryAsync(id, stop).ConfigureAwait(false) is { } history
                        ? Print(history, source.Reference, condition, format)
                        : Refused(id);
                },
                stop);
        });
        return command;
    }

    private static Condition? Read(string? text)
    {
        if (text is null) { return null; }
        var (condition, fault) = Condition.Parse(text);
        return condition ?? throw new UsageException($"--until, column {fault!.Column}: {fault.Detail}\n  {text}\n  {new string(' ', fault.Column - 1)}^");
    }

    private static int Refused(string contract)
    {
        Console.Error.WriteLine(Problem.Json(ComparedViews.Unknown(contract)));
        return ExitCodes.Refused;
    }

    private static int Print(ContractHistory history, KnownReference reference, Condition? until, OutputFormat format)
    {
        Account? before = null;
        var number = 0;
        foreach (var step in EventWalk.Of(history, reference, today: null))
        {
            number++;
            var holds = until?.Holds(step) ?? false;
            if (until is null || holds) { Print(number, step, before, format); }
            if (holds) { return ExitCodes.Done; }
            before = step.Figures ?? before;
        }

        if (until is null) { return ExitCodes.Done; }
        Console.Error.WriteLine($"contracts: '{until.Text}' holds after none of the {number} events.");
        return NeverHolds;
    }

    private static void Print(int number, WalkStep step, Account? before, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, number, step, before)));
            return;
        }

        var entry = step.Event!;
        Console.Out.WriteLine(
            $"{number}. {EventNames.Of(entry.Event)} on {LocalDatePattern.Iso.Format(entry.Event.On)}, sequence {entry.Sequence}, "
            + $"recorded {InstantPattern.ExtendedIso.Format(entry.At)}, key {entry.Key}"
            + (entry.Actor is { } by ? $", by {by}" : ""));
        if (step.Figures is { } after)
        {
            foreach (var (figure, then, now) in Changes(before, after)) { Console.Out.WriteLine($"    {figure,-28} {then,14} -> {now}"); }
        }

        foreach (var line in step.Lines)
        {
            Console.Out.WriteLine($"    posts {LocalDatePattern.Iso.Format(line.On)} {line.Account,-24} {line.Movement.Word(),-18} {line.Amount,12} {line.Authority}");
        }
    }

    private static IEnumerable<(string Figure, string Then, string Now)> Changes(Account? before, Account after) => Figures.Differ(before, after)
        .Where(one => one.Figure is not ("events" or "lastSequence" or "known")).Select(one => (one.Figure, one.Then ?? "", one.Now ?? ""));

    private static void Write(Utf8JsonWriter json, int number, WalkStep step, Account? before)
    {
        var entry = step.Event!;
        json.WriteStartObject();
        json.WriteNumber("number", number);
        json.WritePropertyName("before");
        Write(json, before);
        WriteEvent(json, entry);
        json.WritePropertyName("after");
        Write(json, step.Figures);
        json.WriteStartArray("postings");
        foreach (var line in step.Lines)
        {
            json.WriteStartObject();
            json.WriteString("account", line.Account.ToString());
            json.WriteString("reason", line.Movement.Word());
            json.WriteString("on", LocalDatePattern.Iso.Format(line.On));
            if (line.Spread is { } period) { json.WriteString("through", LocalDatePattern.Iso.Format(period.To.PlusDays(-1))); }
            if (line.Authority.Length > 0) { json.WriteString("authority", line.Authority); }
            json.WriteString("amount", line.Amount.ToString());
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void WriteEvent(Utf8JsonWriter json, Recorded entry)
    {
        json.WriteStartObject("event");
        json.WriteNumber("sequence", entry.Sequence);
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(entry.At));
        json.WriteString("event", EventNames.Of(entry.Event));
        json.WriteString("key", entry.Key);
        json.WritePropertyName("data");
        json.WriteRawValue(StoredEvents.Data(entry.Event, households: false));
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, Account? account)
    {
        if (account is null) { json.WriteNullValue(); }
        else { AccountJson.Write(json, account); }
    }
}
