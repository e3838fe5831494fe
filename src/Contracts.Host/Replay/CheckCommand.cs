using System.CommandLine;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Sealing;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Seals;
using Npgsql;

namespace Contracts.Host.Replay;

/// <summary>`contracts check`: the self-check of invariants and read models.</summary>
public static class CheckCommand
{
    public static Command Build()
    {
        var command = new Command("check", "Check every history, invariant and read model; exit 3 when something does not hold.");
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var report = await RunAsync(session.Store, session.Signer, words => Console.Error.WriteLine($"contracts: {words}"), stop).ConfigureAwait(false);
                Print(report, session.Format);
                return report.Ok ? ExitCodes.Done : ExitCodes.Failed;
            },
            stop));
        return command;
    }

    /// <summary>Checks everything there is in a store.</summary>
    /// <param name="store">The store.</param>
    /// <param name="signer">Who signs its heads and remembers them, or null.</param>
    /// <param name="tell">Is told what could not be looked at, and why.</param>
    /// <param name="stop">Gives up.</param>
    public static async Task<CheckReport> RunAsync(ContractsStore store, ISigner? signer, Action<string> tell, CancellationToken stop)
    {
        var seals = await store.SealAudit.RunAsync(signer, stop).ConfigureAwait(false);
        var report = await ReplayAsync(store, seals, tell, stop).ConfigureAwait(false);
        var (stamps, wrong) = await store.Stamps.CheckAsync(TsaRoots.Find(null), stop).ConfigureAwait(false);
        report.Checked["time stamps"] = stamps;
        report.Faults.AddRange(wrong.Select(one => new Fault(one.Kind, one.Stream, one.Version, one.Field, one.Detail)));
        return report;
    }

    /// <summary>The report as JSON.</summary>
    public static string Json(CheckReport report) => AccountPrinter.Json(json => Write(json, report));

    private static async Task CheckVaultAsync(ContractsStore store, CheckReport report, Action<string> tell, CancellationToken stop)
    {
        try
        {
            (report.Checked["household facts"], var apart) = await store.VaultAudit.RunAsync(stop).ConfigureAwait(false);
            foreach (var difference in apart)
            {
                report.Faults.Add(new Fault(difference.Kind, difference.Household, null, "vault", difference.Detail));
            }
        }
        catch (NpgsqlException closed) when (store.IsGuarded && store.Connection.Personal is null)
        {
            // Whoever may not open the vault checks the rest, and is told.
            tell($"the vault was not checked; {Connections.VaultVariable} gives the way in ({closed.Message})");
        }
    }

    /// <summary>What was altered may not even be read any more; then the seals alone tell what it was.</summary>
    private static async Task<CheckReport> ReplayAsync(ContractsStore store, SealAuditReport seals, Action<string> tell, CancellationToken stop)
    {
        var report = new CheckReport();
        try
        {
            await ReplayAsync(store, report, tell, stop).ConfigureAwait(false);
        }
        catch (Exception damage) when (seals.Findings.Count > 0
            && damage is StoreException or OverflowException or InvalidOperationException or FormatException or InvalidCastException)
        {
            report.Faults.Add(new Fault("history-cannot-be-read", "", null, null, damage.Message));
        }

        foreach (var (what, count) in seals.Checked) { report.Checked[what] = count; }
        report.Faults.AddRange(seals.Findings.Select(found => new Fault(found.Kind, found.Stream, found.Version, found.Field, found.Detail)));
        return report;
    }

    private static async Task ReplayAsync(ContractsStore store, CheckReport report, Action<string> tell, CancellationToken stop)
    {
        await StoreCheck.RunAsync(store, report, stop).ConfigureAwait(false);
        foreach (var difference in await store.Placements.DifferencesAsync(stop).ConfigureAwait(false))
        {
            report.Faults.Add(new Fault("read-model-differs", difference.Contract, null, "placements", difference.Detail));
        }

        var now = await store.Reader.NowAsync(stop).ConfigureAwait(false);
        var (sets, cells, differences) = await store.BookAudit.RunAsync(now, stop).ConfigureAwait(false);
        report.Checked["posting sets"] = sets;
        report.Checked["book cells"] = cells;
        foreach (var difference in differences)
        {
            report.Faults.Add(new Fault(difference.Kind, difference.Stream, null, "books", difference.Detail));
        }

        await CheckVaultAsync(store, report, tell, stop).ConfigureAwait(false);
    }

    private static void Print(CheckReport report, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(report));
            return;
        }

        foreach (var (what, count) in report.Checked) { Console.Out.WriteLine($"{count,12:N0} {what} checked"); }
        foreach (var fault in report.Faults) { Console.Out.WriteLine($"FAULT {fault.Kind}: {fault.Stream} {fault.Version} {fault.Field}: {fault.Detail}"); }
        Console.Out.WriteLine(report.Ok ? "everything holds" : $"{report.Faults.Count:N0} faults");
    }

    private static void Write(Utf8JsonWriter json, CheckReport report)
    {
        json.WriteStartObject();
        json.WriteBoolean("ok", report.Ok);
        json.WriteStartObject("checked");
        foreach (var (what, count) in report.Checked) { json.WriteNumber(what, count); }
        json.WriteEndObject();
        json.WriteStartArray("faults");
        foreach (var fault in report.Faults)
        {
            json.WriteStartObject();
            json.WriteString("kind", fault.Kind);
            json.WriteString("stream", fault.Stream);
            if (fault.Version is { } version) { json.WriteNumber("version", version); } else { json.WriteNull("version"); }
            json.WriteString("field", fault.Field);
            json.WriteString("detail", fault.Detail);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }
}
