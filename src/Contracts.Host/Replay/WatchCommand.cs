using System.CommandLine;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Replays;
using Contracts.Store;
using NodaTime.Text;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Replay;

/// <summary>What a watch over all accounts found.</summary>
/// <param name="Contracts">How many contracts were lived.</param>
/// <param name="Events">How many events.</param>
/// <param name="Breaches">For each contract and invariant the first event after which it does not hold.</param>
public sealed record WatchReport(long Contracts, long Events, IReadOnlyList<Breach> Breaches);

/// <summary>The invariants of docs/money.md over every account after every event: what the command and the nightly job run.</summary>
public static class InvariantWatch
{
    /// <summary>Lives every contract of a store and looks after every event.</summary>
    public static async Task<WatchReport> RunAsync(ContractsStore store, CancellationToken stop)
    {
        var now = await store.Reader.NowAsync(stop).ConfigureAwait(false);
        return await RunAsync(await ReplaySource.OfAsync(store, now, now.InZone(store.Settings.Zone).Date, stop).ConfigureAwait(false), stop).ConfigureAwait(false);
    }

    /// <summary>The command that opens the tree of what breaks.</summary>
    public static string Explain(Breach breach)
    {
        var known = breach.Event is { } entry ? $" --known {InstantPattern.ExtendedIso.Format(entry.At)}" : "";
        return $"contracts explain {breach.Contract} {breach.What.Figure} --on {LocalDatePattern.Iso.Format(breach.On)}{known}";
    }

    internal static async Task<WatchReport> RunAsync(ReplaySource source, CancellationToken stop)
    {
        var (contracts, events, breaches) = (0L, 0L, new List<Breach>());
        await foreach (var (count, found) in source.MapAsync(
            history => (history.Entries.Length, Invariants.Watch(history, source.Reference, source.Today)), stop).ConfigureAwait(false))
        {
            contracts++;
            events += count;
            breaches.AddRange(found);
        }

        return new WatchReport(contracts, events, breaches);
    }
}

/// <summary>`contracts watch`: looks for an invariant that does not hold, over all accounts after every event.</summary>
public static class WatchCommand
{
    /// <summary>The command with its options.</summary>
    public static Command Build()
    {
        var file = ReplaySource.FileOption();
        var command = new Command("watch", "Hold the invariants of docs/money.md over every account after every event; exit 3 when one breaks.") { file };
        command.SetAction((parse, stop) => ReplayRun.OnAsync(
            parse, parse.GetValue(file), null, (null, null),
            async (source, format) =>
            {
                var report = await InvariantWatch.RunAsync(source, stop).ConfigureAwait(false);
                Print(report, format);
                return report.Breaches.Count == 0 ? ExitCodes.Done : ExitCodes.Failed;
            },
            stop));
        return command;
    }

    private static void Print(WatchReport report, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, report)));
            return;
        }

        foreach (var breach in report.Breaches)
        {
            var place = breach.Event is { } entry ? $"event {breach.Number} ({EventNames.Of(entry.Event)}, sequence {entry.Sequence})" : "its last event";
            Console.Out.WriteLine($"{breach.Contract}: {breach.What.Invariant} first breaks after {place}: {breach.What.Detail}\n  {InvariantWatch.Explain(breach)}");
        }

        Console.Out.WriteLine(report.Breaches.Count == 0
            ? $"every invariant holds after each of {report.Events:N0} events of {report.Contracts:N0} contracts"
            : $"{report.Breaches.Count:N0} breaches in {report.Contracts:N0} contracts");
    }

    private static void Write(Utf8JsonWriter json, WatchReport report)
    {
        json.WriteStartObject();
        json.WriteBoolean("ok", report.Breaches.Count == 0);
        json.WriteNumber("contracts", report.Contracts);
        json.WriteNumber("events", report.Events);
        json.WriteStartArray("breaches");
        foreach (var breach in report.Breaches)
        {
            json.WriteStartObject();
            json.WriteString("contract", breach.Contract);
            json.WriteString("invariant", breach.What.Invariant);
            json.WriteNumber("number", breach.Number);
            json.WriteNumber("sequence", breach.Event?.Sequence ?? 0);
            json.WriteString("on", LocalDatePattern.Iso.Format(breach.On));
            json.WriteString("figure", breach.What.Figure);
            json.WriteString("detail", breach.What.Detail);
            json.WriteString("explain", InvariantWatch.Explain(breach));
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }
}
