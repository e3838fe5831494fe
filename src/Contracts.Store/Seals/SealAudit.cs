using System.Data;
using Contracts.Seals;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>
/// Holds all that is stored against all that is sealed: every row is hashed anew, every leaf, node and root built anew,
/// every note opened. Roots alone prove nothing about the rows behind them. Reads one state of the database, so that
/// writers and the sealer go on beside it.
/// </summary>
public sealed class SealAudit
{
    // In the order of the leaves through the index, so that nothing is sorted or kept.
    private const string Plan = "set local enable_hashjoin = off; set local enable_mergejoin = off; set local enable_sort = off; set local enable_seqscan = off";

    private const string Leaves = $"""
        select l.leaf_index, l.kind, l.event_seq, l.stream, l.version, l.leaf_hash, l.entry, {SealRow.Columns}
        from audit.leaf l left join contracts.mt_events e on e.seq_id = l.event_seq order by l.leaf_index
        """;

    private const int LeafColumns = 7;

    /// <summary>A gap larger than this is no gap but a number that was made up.</summary>
    private const long MostMissing = 1_000_000;

    private readonly NpgsqlDataSource source;

    internal SealAudit(NpgsqlDataSource source) => this.source = source;

    /// <summary>Checks everything. A signer adds what it remembers, which the database cannot alter.</summary>
    public async Task<SealAuditReport> RunAsync(ISigner? signer, CancellationToken stop = default)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        var report = new SealAuditReport();
        SignerState? remembered;

        // While nobody seals, what the signer remembers and what is stored fit together.
        await RunAsync(connection, $"select pg_advisory_lock_shared({Sealer.Lock})", stop).ConfigureAwait(false);
        NpgsqlTransaction transaction;
        try
        {
            remembered = await RememberedAsync(connection, signer, report, stop).ConfigureAwait(false);
            transaction = await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, stop).ConfigureAwait(false);
            await RunAsync(connection, "select count(*) from audit.log", stop).ConfigureAwait(false);
        }
        finally
        {
            await RunAsync(connection, $"select pg_advisory_unlock_shared({Sealer.Lock})", CancellationToken.None).ConfigureAwait(false);
        }

        await using (transaction.ConfigureAwait(false)) { await RunAsync(connection, remembered, report, stop).ConfigureAwait(false); }
        return report;
    }

    /// <summary>Checks what a transaction that is open on the connection sees, its own changes among them.</summary>
    internal static async Task RunAsync(NpgsqlConnection connection, SignerState? signer, SealAuditReport report, CancellationToken stop)
    {
        var tables = await SealTables.ReadAsync(connection, signer, report, stop).ConfigureAwait(false);
        var leaves = new LeafCheck(tables.Origin, report);
        var tree = new TreeCheck(tables, signer, report);
        await RunAsync(connection, Plan, stop).ConfigureAwait(false);
        await LeavesAsync(connection, leaves, tree, report, stop).ConfigureAwait(false);
        await RunAsync(connection, Plan.Replace("off", "on", StringComparison.Ordinal), stop).ConfigureAwait(false);
        tree.Finish();
        var rows = new RowCheck(connection, leaves, report);
        await rows.FindLostAsync(stop).ConfigureAwait(false);
        var hasBegun = tree.Size > 0 || signer is { Size: > 0 };
        await rows.UnsealedAsync(await NowAsync(connection, stop).ConfigureAwait(false), hasBegun, stop).ConfigureAwait(false);
        await rows.ArchivedAsync(stop).ConfigureAwait(false);
        await rows.StreamsAsync(stop).ConfigureAwait(false);
        await rows.HolesAsync(tables.Holes, stop).ConfigureAwait(false);
    }

    private static async Task LeavesAsync(NpgsqlConnection connection, LeafCheck leaves, TreeCheck tree, SealAuditReport report, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Leaves, connection) { CommandTimeout = 0 };
        await using var reader = await command.ExecuteReaderAsync(CommandBehavior.SequentialAccess, stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var leaf = new StoredLeaf(
                reader.GetInt64(0), reader.GetString(1), reader.IsDBNull(2) ? null : reader.GetInt64(2), reader.IsDBNull(3) ? null : reader.GetString(3),
                reader.IsDBNull(4) ? null : reader.GetInt64(4), Hash(reader.GetFieldValue<byte[]>(5)), reader.GetFieldValue<byte[]>(6));
            var row = reader.IsDBNull(LeafColumns) ? null : SealRow.Read(reader, LeafColumns);
            Gap(leaf.Index, tree, leaves, report);
            var (entry, hash) = leaves.Take(leaf, row);
            tree.Append(entry, hash, leaves);
        }

        report.Count("leaves", tree.Size);
    }

    /// <summary>Leaves that are missing leave their places empty, so that those behind them are still held against their own.</summary>
    private static void Gap(long next, TreeCheck tree, LeafCheck leaves, SealAuditReport report)
    {
        if (next == tree.Size) { return; }
        report.Add("leaf-missing", "audit.leaf", tree.Size, "row", $"The leaves from {tree.Size} to {next - 1} are missing.");
        if (next - tree.Size > MostMissing) { return; }
        while (tree.Size < next) { tree.Append(null, default, leaves); }
    }

    private static Digest Hash(byte[] bytes) => bytes.Length == Digest.Length ? new Digest(bytes) : default;

    /// <summary>What the signer remembers, or null where there is none here. One that lost its memory is a finding.</summary>
    private static async Task<SignerState?> RememberedAsync(NpgsqlConnection connection, ISigner? signer, SealAuditReport report, CancellationToken stop)
    {
        if (signer is null) { return null; }
        await using var command = new NpgsqlCommand("select origin from audit.log", connection);
        if (await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is not string origin) { return null; }
        try
        {
            return await signer.StateAsync(origin, mayBegin: false, stop).ConfigureAwait(false);
        }
        catch (SignerException missing) when (missing.Refusal == SignerRefusal.KeyMissing)
        {
            // Another machine may hold the key; then the stored key is all there is to go by, and the report has no signer in it.
            return null;
        }
        catch (SignerException refused)
        {
            report.Add("signer-cannot-be-trusted", "signer", null, "state", refused.Message);
            return null;
        }
    }

    /// <summary>The time by which the age of an event can be told; none in a store whose clock is simulated.</summary>
    private static async Task<Instant?> NowAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select clock_timestamp() from contracts.clock where not simulated", connection);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        return await reader.ReadAsync(stop).ConfigureAwait(false) ? reader.GetFieldValue<Instant>(0) : null;
    }

    private static async Task RunAsync(NpgsqlConnection connection, string sql, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
