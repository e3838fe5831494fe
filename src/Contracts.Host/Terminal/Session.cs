using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Papers;
using Contracts.Host.Sealing;
using Contracts.Store;
using Contracts.Store.Embedded;
using Contracts.Store.Seals;
using Npgsql;
using NodaTime;

namespace Contracts.Host.Terminal;

/// <summary>One run of a command: its store, its format, and where words go (figures to standard output, the rest to error).</summary>
public sealed class Session(ContractsStore store, OutputFormat format, string? signerFolder = null) : IAsyncDisposable
{
    /// <summary>With the value `later` a run leaves its events to `contracts seal` or a running host.</summary>
    public const string LaterVariable = "CONTRACTS_SEAL";

    public ContractsStore Store { get; } = store;

    public OutputFormat Format { get; } = format;

    /// <summary>Who signs the heads of the log, or null where nobody does.</summary>
    public ISigner? Signer { get; } = signerFolder is null ? null : new FolderSigner(signerFolder);

    public static DateTimeZone Zone => CommonOptions.DefaultZone;

    public async Task<(LocalDate On, Instant Known)> ViewAsync(LocalDate? on, KnownMoment? known, CancellationToken stop)
    {
        var now = await Store.Reader.NowAsync(stop).ConfigureAwait(false);
        return (on ?? now.InZone(Zone).Date, known?.In(Zone) ?? now);
    }

    /// <summary>The same where the knowledge may be a checkpoint; null where there is no such one, and that is told.</summary>
    public async Task<(LocalDate On, KnownAt Known)?> ViewOrCheckpointAsync(LocalDate? on, KnownMoment? known, CancellationToken stop, string field = "known")
    {
        if (known?.Checkpoint is not { } checkpoint)
        {
            var (day, at) = await ViewAsync(on, known, stop).ConfigureAwait(false);
            return (day, at);
        }

        var (found, why) = await Store.Seals.FindAsync(checkpoint, stop).ConfigureAwait(false);
        if (found is { } sealed1) { return (on ?? (await Store.Reader.NowAsync(stop).ConfigureAwait(false)).InZone(Zone).Date, sealed1); }
        Refuse(new Refusal(RefusalCode.CheckpointUnknown, why, field));
        return null;
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

        return await RunAsync(
            async () =>
            {
                var connection = await Connections.FindAsync(parse, stop).ConfigureAwait(false);
                var store = await ContractsStore.OpenAsync(
                    connection, new StoreSettings(Zone, simulatedClock, PaperPress.Print, Connections.Keys(parse)), stop).ConfigureAwait(false);
                if (store.Warning is { } warning) { await Console.Error.WriteLineAsync($"contracts: {warning}").ConfigureAwait(false); }
                return new Session(store, format, Connections.SignerFolder(parse));
            },
            work).ConfigureAwait(false);
    }

    /// <summary>The same with a session that is opened otherwise.</summary>
    public static async Task<int> RunAsync(Func<Task<Session>> open, Func<Session, Task<int>> work)
    {
        try
        {
            await using var session = await open().ConfigureAwait(false);
            var exit = await work(session).ConfigureAwait(false);
            await session.SealWrittenAsync().ConfigureAwait(false);
            return exit;
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

    /// <summary>
    /// Seals what this run has written, when its answer is out: whoever runs single commands has a sealed history without a
    /// thought. What stands in the way is told and changes neither the answer nor the exit code; the next run tries again.
    /// </summary>
    public async Task SealWrittenAsync()
    {
        if (Store.Pipeline.Written == 0 || Environment.GetEnvironmentVariable(LaterVariable) == "later") { return; }
        try
        {
            await Console.Out.FlushAsync().ConfigureAwait(false);
            var report = await Store.SealerWith(Signer).SealAsync().ConfigureAwait(false);
            foreach (var alarm in report.Alarms) { await Console.Error.WriteLineAsync($"contracts: {SealPrinter.Words(alarm)}").ConfigureAwait(false); }
        }
        catch (Exception fault) when (fault is StoreException or NpgsqlException or IOException or UnauthorizedAccessException or TimeoutException)
        {
            await Console.Error.WriteLineAsync($"contracts: what was written is not sealed yet: {Words(fault)}").ConfigureAwait(false);
        }
    }

    /// <summary>
    /// Seals what waits; what cannot be sealed stands in the way of whoever asks. A store that nothing was ever sealed in, or whose sealing is
    /// somebody else's (no login for it here), is let be.
    /// </summary>
    /// <exception cref="StoreException">Events wait that cannot be sealed.</exception>
    public async Task RequireSealedAsync(CancellationToken stop)
    {
        if (await Store.Seals.SizeAsync(stop).ConfigureAwait(false) == 0) { return; }
        try
        {
            await Store.SealerWith(Signer).SealAsync(stop: stop).ConfigureAwait(false);
        }
        catch (NpgsqlException) when (Store.IsGuarded && Store.Connection.Sealer is null)
        {
            return;
        }

        if (await Store.Seals.WaitingAsync(stop).ConfigureAwait(false) is > 0 and var waiting)
        {
            throw new StoreException($"{waiting} events cannot be sealed, and a month is not closed over them. Run `contracts check`.");
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
