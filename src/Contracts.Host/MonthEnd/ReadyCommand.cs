using Contracts.Agreements;
using Contracts.Books.Packet;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;
using Spectre.Console;

namespace Contracts.Host.MonthEnd;

/// <summary>`contracts ready`: what the close of a month would check, as the books stand now; nothing is recorded.</summary>
public static class ReadyCommand
{
    /// <summary>The command; exit 1 when something stands in the way or a check does not hold.</summary>
    public static System.CommandLine.Command Build()
    {
        var month = MonthArgument.Build("The next month to close, such as 2026-09.");
        var command = new System.CommandLine.Command("ready", "Whether a month can be closed: each check of a close, as the books stand now. Nothing is recorded.") { month };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var (packet, obstacle) = await LookAsync(session.Store, parse.GetValue(month), stop).ConfigureAwait(false);
                if (packet is null) { return session.Refuse(obstacle!); }
                Print(packet, session.Format);
                return IsReady(packet) ? ExitCodes.Done : ExitCodes.Refused;
            },
            stop));
        return command;
    }

    /// <summary>What a close would check now, or why there is nothing to check.</summary>
    internal static async Task<(Packet? Packet, Refusal? Obstacle)> LookAsync(ContractsStore store, YearMonth month, CancellationToken stop)
    {
        var today = (await store.Reader.NowAsync(stop).ConfigureAwait(false)).InZone(Session.Zone).Date;
        return await store.MonthClose.ObstacleAsync(month, today, stop).ConfigureAwait(false) is { } obstacle
            ? (null, obstacle)
            : (await store.MonthClose.RehearseAsync(month, stop).ConfigureAwait(false), null);
    }

    /// <summary>The checks as JSON.</summary>
    internal static string Json(Packet packet) => AccountPrinter.Json(json =>
    {
        json.WriteStartObject();
        json.WriteString("month", packet.Month);
        json.WriteBoolean("ready", IsReady(packet));
        json.WriteStartArray("checks");
        foreach (var check in packet.Checks)
        {
            json.WriteStartObject();
            json.WriteString("name", check.Name);
            json.WriteBoolean("passed", check.Passed);
            json.WriteString("detail", check.Detail);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    });

    private static bool IsReady(Packet packet) => packet.Checks.All(check => check.Passed);

    private static void Print(Packet packet, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(packet));
            return;
        }

        var table = AccountPrinter.Plain().AddColumns("check", "now", "detail");
        foreach (var check in packet.Checks) { table.AddRow(new Text(check.Name), new Text(check.Passed ? "holds" : "DOES NOT HOLD"), new Text(check.Detail)); }
        AnsiConsole.Write(table);
    }
}
