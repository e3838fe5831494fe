using System.Buffers;
using System.CommandLine;
using System.Text;
using System.Text.Json;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts accounts`: every account of a view, ordered by id, streamed so that memory stays flat.</summary>
public static class AccountsCommand
{
    public static Command Build()
    {
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("accounts", "Every account as of a day, as known at a moment; one line each.") { on, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                await PrintAsync(session, view.On, view.Known, stop).ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static async Task PrintAsync(Session session, LocalDate on, KnownAt known, CancellationToken stop)
    {
        var rates = await session.Store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        var csv = session.Format is OutputFormat.Csv or OutputFormat.Table;
        var inList = session.Format == OutputFormat.Json;
        await using var output = Console.OpenStandardOutput();
        await using var buffered = new BufferedStream(output, 1 << 16);
        if (csv) { buffered.Write(Encoding.UTF8.GetBytes(AccountCsv.Header + "\n")); }
        if (inList) { buffered.WriteByte((byte)'['); }
        var first = true;
        var lines = session.Store.Reader.MapHistoriesAsync(known, history => Line(history, rates, on, known.At, csv), stop);
        await foreach (var line in lines.ConfigureAwait(false))
        {
            if (line is null) { continue; }
            if (inList && !first) { buffered.WriteByte((byte)','); }
            first = false;
            buffered.Write(line);
            buffered.WriteByte((byte)'\n');
        }

        if (inList) { buffered.Write("]\n"u8); }
    }

    private static byte[]? Line(ContractHistory history, ReferenceData rates, LocalDate on, Instant known, bool csv)
    {
        if (AccountFold.At(history, rates, on) is not { } state) { return null; }
        var account = Account.Of(state, known);
        if (csv) { return Encoding.UTF8.GetBytes(AccountCsv.Row(account)); }
        var buffer = new ArrayBufferWriter<byte>(1536);
        using (var json = new Utf8JsonWriter(buffer, AccountPrinter.Plainly)) { AccountJson.Write(json, account); }
        return buffer.WrittenSpan.ToArray();
    }
}
