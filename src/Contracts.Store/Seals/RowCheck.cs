using Contracts.Seals;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>What the log does not lead to: rows that are missing, rows too many, rows that wait too long, and Marten's list of streams.</summary>
internal sealed class RowCheck(NpgsqlConnection connection, LeafCheck leaves, SealAuditReport report)
{
    /// <summary>How long an event may wait for its seal.</summary>
    private static readonly Duration Longest = Duration.FromSeconds(30);

    private readonly HashSet<Guid> known = [];
    private readonly Dictionary<string, long> last = leaves.Heads.ToDictionary(pair => pair.Key, pair => pair.Value.Version, StringComparer.Ordinal);

    /// <summary>Looks for the rows of entries that were not in their place.</summary>
    public async Task FindLostAsync(CancellationToken stop)
    {
        if (leaves.Lost.Count == 0) { return; }
        var rows = new Dictionary<Guid, SealRow>();
        await using (var command = new NpgsqlCommand($"select {SealRow.Columns} from contracts.mt_events e where e.id = any($1)", connection))
        {
            command.Parameters.Add(new NpgsqlParameter<Guid[]> { TypedValue = [.. leaves.Lost.Select(one => one.Entry.Id)] });
            await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
            while (await reader.ReadAsync(stop).ConfigureAwait(false))
            {
                var row = SealRow.Read(reader);
                rows[row.Id] = row;
            }
        }

        foreach (var (index, entry) in leaves.Lost)
        {
            if (rows.TryGetValue(entry.Id, out var row))
            {
                known.Add(entry.Id);
                leaves.Compare(entry, row);
            }
            else
            {
                report.Add("event-missing", entry.Stream, entry.StreamVersion, "row", $"Event {entry.Sequence} is sealed as leaf {index}, and its row is gone.");
            }
        }
    }

    /// <summary>Rows without a leaf: those that wait, and those that should not be there.</summary>
    public async Task UnsealedAsync(Instant? now, bool hasBegun, CancellationToken stop)
    {
        var waiting = 0L;
        (Instant At, string Stream, long Version)? oldest = null;
        await using var command = new NpgsqlCommand(
            $"""
            select {SealRow.Columns} from contracts.mt_events e
            where not exists (select from audit.leaf l where l.event_seq = e.seq_id) order by e.stream_id, e.version
            """, connection) { CommandTimeout = 0 };
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var row = SealRow.Read(reader);
            if (known.Contains(row.Id)) { continue; }
            waiting++;
            var head = last.GetValueOrDefault(row.Stream);
            if (row.Version <= head)
            {
                report.Add("event-extra", row.Stream, row.Version, "row", $"Event {row.Sequence} has no leaf, and another event is sealed as this version.");
                continue;
            }

            if (row.Version != head + 1)
            {
                report.Add("event-missing", row.Stream, head + 1, "row", $"Version {row.Version} waits for its seal, and the one before it is not there.");
            }

            if (row.Entry("log", default).Fault is { } fault) { report.Add("event-cannot-be-sealed", row.Stream, row.Version, "row", fault.ToString()); }
            last[row.Stream] = row.Version;
            if (oldest is null || row.At < oldest.Value.At) { oldest = (row.At, row.Stream, row.Version); }
        }

        report.Count("events that wait for their seal", waiting);
        if (hasBegun && now is { } moment && oldest is { } first && moment - first.At > Longest)
        {
            report.Add("unsealed-too-long", first.Stream, first.Version, "row",
                $"{waiting} events wait for their seal, this one since {first.At}. Run `contracts seal`; if it stays, somebody wrote it past the program.");
        }
    }

    /// <summary>Holds Marten's list of streams against the versions that there are. It is derived; what it says of times is not looked at.</summary>
    public async Task StreamsAsync(CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select id, version, tenant_id, is_archived from contracts.mt_streams", connection) { CommandTimeout = 0 };
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            report.Count("streams");
            var (stream, version) = (reader.GetString(0), reader.IsDBNull(1) ? 0 : reader.GetInt64(1));
            if (!last.Remove(stream, out var found) || found != version)
            {
                report.Add("stream-differs", stream, version, "mt_streams.version", $"The stream is listed with {version} versions and has {found}.");
            }

            if (!reader.IsDBNull(2) && reader.GetString(2) != StoredHeads.Tenant) { report.Add("stream-differs", stream, version, "mt_streams.tenant_id", "There is one tenant."); }
            if (!reader.IsDBNull(3) && reader.GetBoolean(3)) { report.Add("stream-differs", stream, version, "mt_streams.is_archived", "No stream is archived here."); }
        }

        foreach (var (stream, version) in last) { report.Add("stream-differs", stream, version, "mt_streams.row", "The stream has events and is not listed."); }
    }

    /// <summary>Events that are marked as archived are out of sight for Marten; nothing here marks them.</summary>
    public async Task ArchivedAsync(CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select stream_id, version from contracts.mt_events where is_archived order by seq_id", connection) { CommandTimeout = 0 };
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            report.Add("event-altered", reader.IsDBNull(0) ? "" : reader.GetString(0), reader.GetInt64(1), "is_archived", "No event is archived here.");
        }
    }

    /// <summary>Numbers below the last sealed one that have no leaf must be noted, or a late event would not be looked for.</summary>
    public async Task HolesAsync(IReadOnlyList<(long First, long Last)> holes, CancellationToken stop)
    {
        var at = 0;
        await using var command = new NpgsqlCommand(
            """
            select first, last from (
                select lag(event_seq, 1, 0::bigint) over (order by event_seq) + 1 as first, event_seq - 1 as last
                from audit.leaf where event_seq > 0) gaps
            where first <= last order by first
            """, connection) { CommandTimeout = 0 };
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            for (var (next, last) = (reader.GetInt64(0), reader.GetInt64(1)); next <= last;)
            {
                while (at < holes.Count && holes[at].Last < next) { at++; }
                if (at == holes.Count || holes[at].First > next)
                {
                    report.Add("hole-missing", "audit.hole", next, "row", $"The numbers from {next} to {last} have no leaf, and not all are noted as passed over.");
                    break;
                }

                next = holes[at].Last + 1;
            }
        }
    }
}
