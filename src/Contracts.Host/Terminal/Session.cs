using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Papers;
using Contracts.Store;
using Contracts.Store.Embedded;
using Npgsql;
using NodaTime;

namespace Contracts.Host.Terminal;

/// <summary>One run of a command: its store, its format, and where words go (figures to standard output, the rest to error).</summary>
public sealed class Session(ContractsStore store, OutputFormat format) : IAsyncDisposable
{
    public ContractsStore Store { get; } = store;

    public OutputFormat Format { get; } = format;

    public static DateTimeZone Zone => CommonOptions.DefaultZone;

    public async Task<(LocalDate On, Instant Known)> ViewAsync(LocalDate? on, KnownMoment? known, CancellationToken stop)
    {
        var now = await Store.Reader.NowAsync(stop).ConfigureAwait(false);
        return (on ?? now.InZone(Zone).Date, known?.In(Zone) ?? now);
    }

    public ValueTask DisposeAsync() => Store.DisposeAsync();

    /// <summary>Runs a command's work and turns what can go wrong into words and an exit code.</summary>
    public static async Task<int> RunAsync(
        ParseResult parse, bool simulatedClock, Func<Session, Task<int>> work, CancellationToken stop)
    {
        if (CommonOptions.ParseFormat(parse.GetValue(CommonOptions.Format)) is not { } format)
        {
            await Console.Error.WriteLineAsync("contracts: --format is one of table, json, jsonl, csv.").ConfigureAwait(false);
            return ExitCodes.WrongUsage;
        }

        try
        {
            var connection = await Connections.FindAsync(parse, stop).ConfigureAwait(false);
            var store = await ContractsStore.OpenAsync(connection, new StoreSettings(Zone, simulatedClock, PaperPress.Print, Connections.Keys(parse)), stop).ConfigureAwait(false);
            await using var session = new Session(store, format);
            if (store.Warning is { } warning) { await Console.Error.WriteLineAsync($"contracts: {warning}").ConfigureAwait(false); }
            return await work(session).ConfigureAwait(false);
        }
        catch (Exception fault) when (fault is StoreException or NpgsqlException or IOException or PostgresMissingException
            or EmbeddedServerException or UnauthorizedAccessException or TimeoutException)
        {
            await Console.Error.WriteLineAsync($"contracts: {Words(fault)}").ConfigureAwait(false);
            return ExitCodes.Failed;
        }
        catch (OperationCanceledException)
        {
            await Console.Error.WriteLineAsync("contracts: stopped; what was applied stays applied.").ConfigureAwait(false);
            return ExitCodes.Failed;
        }
    }

    public int Refuse(Refusal refusal)
    {
        Console.Error.WriteLine(
            Format is OutputFormat.Json or OutputFormat.Jsonl ? Problem.Json(refusal) : $"{refusal.Slug}: {refusal.Detail}");
        return ExitCodes.Refused;
    }

    private static string Words(Exception fault) =>
        fault.InnerException is { } inner && fault is not PostgresException && inner.Message != fault.Message ? $"{fault.Message} ({inner.Message})" : fault.Message;
}
