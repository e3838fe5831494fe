using System.Data;
using Contracts.Seals;
using Contracts.Store.Setup;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>
/// Appends every event that has no leaf yet to the log, makes the anchors that are due, and has the new head signed. One
/// works at a time in a store. It reads events and inserts seals, and does nothing else. Stopped anywhere it goes on where
/// it was: a transaction either holds leaves, hashes and root, or none of them, and a signature can be asked for again.
/// </summary>
public sealed class Sealer
{
    /// <summary>Held by who seals.</summary>
    internal const long Lock = StoreSchema.WriterLock + 1;

    private const int Batch = 4096;

    private readonly NpgsqlDataSource source;
    private readonly StoreReader reader;
    private readonly DateTimeZone zone;
    private readonly ISigner? signer;
    private readonly Action<SealStep> step;
    private readonly HeadMemory? memory;

    internal Sealer(NpgsqlDataSource source, StoreReader reader, DateTimeZone zone, ISigner? signer, Action<SealStep>? step = null, HeadMemory? memory = null)
    {
        this.memory = memory;
        this.source = source;
        this.reader = reader;
        this.zone = zone;
        this.signer = signer;
        this.step = step ?? (static _ => { });
    }

    /// <summary>
    /// Seals what waits. A month closed since, and a day on which there is no anchor yet, get theirs; with
    /// <paramref name="anchor"/> there is one at the end whatever the day.
    /// </summary>
    public async Task<SealReport> SealAsync(bool anchor = false, CancellationToken stop = default)
    {
        var alarms = new List<SealAlarm>();
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        var appender = new LeafAppender(connection, step);
        await appender.RunAsync($"select pg_advisory_lock({Lock})", stop).ConfigureAwait(false);
        try
        {
            step(SealStep.LockTaken);
            var origin = await OriginAsync(connection, stop).ConfigureAwait(false);
            var events = 0L;
            while (true)
            {
                var (count, isFull) = await BatchAsync(connection, appender, origin, alarms, stop).ConfigureAwait(false);
                events += count;
                if (!isFull) { break; }
            }

            var anchors = await new AnchorMaker(connection, appender, reader, zone, origin, memory).MakeAsync(anchor, stop).ConfigureAwait(false);
            var head = await HeadAsync(connection, stop).ConfigureAwait(false);
            if (signer is not null && head is not null) { await SignAsync(connection, appender, origin, head, alarms, stop).ConfigureAwait(false); }
            return new SealReport(
                events, head?.Size ?? 0, await new SealReader(source).LatestAsync(stop).ConfigureAwait(false), anchors, [.. alarms.Distinct()]);
        }
        finally
        {
            await UnlockAsync(connection).ConfigureAwait(false);
        }
    }

    /// <summary>One transaction: what it reads is one state of the events.</summary>
    private async Task<(int Count, bool IsFull)> BatchAsync(
        NpgsqlConnection connection, LeafAppender appender, string origin, List<SealAlarm> alarms, CancellationToken stop)
    {
        await using var transaction = await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, stop).ConfigureAwait(false);
        var source = new SealSource(connection);
        var after = await source.AfterAsync(stop).ConfigureAwait(false);
        var (rows, isFull) = await source.RowsAsync(after, Batch, stop).ConfigureAwait(false);
        if (rows.Count == 0) { return (0, false); }
        var last = Math.Max(after, rows.Max(row => row.Sequence));
        var heads = await source.HeadsAsync(rows.Select(row => row.Stream).Distinct(StringComparer.Ordinal), stop).ConfigureAwait(false);
        rows.AddRange(await source.PredecessorsAsync(rows, heads, stop).ConfigureAwait(false));
        step(SealStep.RowsRead);
        var (leaves, refused) = SealBatch.Order(origin, [.. rows.DistinctBy(row => row.Sequence)], heads);
        alarms.AddRange(refused);
        await appender.NoteHolesAsync(after, last, leaves.Select(leaf => leaf.Sequence!.Value), stop).ConfigureAwait(false);
        if (leaves.Count > 0)
        {
            var edge = await appender.EdgeAsync(stop).ConfigureAwait(false);
            await appender.AppendAsync(edge, leaves, stop).ConfigureAwait(false);
        }

        await transaction.CommitAsync(stop).ConfigureAwait(false);
        step(SealStep.Committed);
        return (leaves.Count, isFull);
    }

    /// <summary>Has the head signed, also where nothing is new: a log that was put back is noticed at the next sealing.</summary>
    private async Task SignAsync(
        NpgsqlConnection connection, LeafAppender appender, string origin, Checkpoint head, List<SealAlarm> alarms, CancellationToken stop)
    {
        try
        {
            var keys = await new SealReader(source).KeysAsync(stop).ConfigureAwait(false);
            var state = await signer!.StateAsync(origin, mayBegin: keys.Count == 0, stop).ConfigureAwait(false);
            step(SealStep.SignerAsked);
            if (keys.Count == 0)
            {
                await appender.RunAsync(
                    "insert into audit.key (number, vkey) values (0, $1)", stop, new NpgsqlParameter<string> { TypedValue = state.Key.VKey }).ConfigureAwait(false);
            }
            else if (keys[^1].VKey != state.Key.VKey)
            {
                throw new SignerException(SignerRefusal.KeyMissing, $"The log is signed by {keys[^1].VKey}, and the signer here has another key.");
            }

            step(SealStep.KeyStored);
            if (state.Size == head.Size && state.Root == head.Root && await IsStoredAsync(connection, head.Size, stop).ConfigureAwait(false)) { return; }
            var proof = state.Size > 0 && state.Size < head.Size ? await ProofAsync(connection, state.Size, head.Size, stop).ConfigureAwait(false) : null;
            var note = await signer.SignAsync(new SignRequest(origin, head.Size, head.Root, proof), stop).ConfigureAwait(false);
            step(SealStep.Signed);
            // What the signer remembers is stored too, also by a host that is on its way out.
            stop = CancellationToken.None;
            // Without waiting for the disk: a note that a crash takes is asked for again, and the same bytes come back.
            await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
            await appender.RunAsync("set local synchronous_commit = off", stop).ConfigureAwait(false);
            await appender.RunAsync(
                """
                insert into audit.checkpoint (size, root, note, previous)
                values ($1, $2, $3, (select max(size) from audit.checkpoint)) on conflict (size) do nothing
                """, stop,
                new NpgsqlParameter<long> { TypedValue = head.Size }, new NpgsqlParameter<byte[]> { TypedValue = head.Root.ToBytes() },
                new NpgsqlParameter<string> { TypedValue = note }).ConfigureAwait(false);
            await transaction.CommitAsync(stop).ConfigureAwait(false);
            step(SealStep.NoteStored);
        }
        catch (SignerException refused)
        {
            alarms.Add(new SealAlarm($"signer-{Word(refused.Refusal)}", null, null, refused.Message));
        }
        catch (Exception failed) when (failed is IOException or UnauthorizedAccessException)
        {
            alarms.Add(new SealAlarm("signer-unavailable", null, null, failed.Message));
        }
    }

    private static async Task<ConsistencyProof> ProofAsync(NpgsqlConnection connection, long oldSize, long newSize, CancellationToken stop) =>
        ConsistencyProof.Make(
            await StoredNodes.ReadAsync(connection, ConsistencyProof.Needed(oldSize, newSize), stop).ConfigureAwait(false), oldSize, newSize);

    private static async Task<bool> IsStoredAsync(NpgsqlConnection connection, long size, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select 1 from audit.checkpoint where size = $1", connection);
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = size });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is not null;
    }

    private static async Task<string> OriginAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select origin from audit.log", connection);
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) as string ?? throw new StoreException("The log has no name. Run `contracts check`.");
    }

    /// <summary>The last root that was committed, whether or not it is signed.</summary>
    private static async Task<Checkpoint?> HeadAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select size, root, (select origin from audit.log) from audit.root order by size desc limit 1", connection);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        return await reader.ReadAsync(stop).ConfigureAwait(false)
            ? new Checkpoint(reader.GetString(2), reader.GetInt64(0), new Digest(reader.GetFieldValue<byte[]>(1)))
            : null;
    }

    /// <summary>A connection that broke has given its lock back already.</summary>
    private static async Task UnlockAsync(NpgsqlConnection connection)
    {
        if (connection.State != ConnectionState.Open) { return; }
        try
        {
            await using var command = new NpgsqlCommand($"select pg_advisory_unlock({Lock})", connection);
            await command.ExecuteNonQueryAsync(CancellationToken.None).ConfigureAwait(false);
        }
        catch (NpgsqlException)
        {
            NpgsqlConnection.ClearPool(connection);
        }
    }

    private static string Word(SignerRefusal refusal) => string.Concat(
        refusal.ToString().Select((letter, at) => char.IsAsciiLetterUpper(letter) && at > 0 ? $"-{char.ToLowerInvariant(letter)}" : $"{char.ToLowerInvariant(letter)}"));
}
