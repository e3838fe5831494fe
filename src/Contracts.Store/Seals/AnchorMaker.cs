using System.Data;
using System.Reflection;
using Contracts.Seals;
using Contracts.Store.Writing;
using NodaTime;
using NodaTime.Text;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>
/// Makes the anchors that are due: one for each closed month that has none, one for a day of the shop on which there is
/// none, one on demand. A close cannot hold a checkpoint that covers itself; its anchor right after it does.
/// </summary>
internal sealed class AnchorMaker(NpgsqlConnection connection, LeafAppender appender, StoreReader reader, DateTimeZone zone, string origin, HeadMemory? memory = null)
{
    private const string Due = """
        select (select max(at) from audit.anchor),
               exists (select from audit.leaf where kind = 'event'),
               array(select to_char(p.month, 'YYYY-MM') from contracts.periods p
                     where not exists (select from audit.anchor a where a.period = to_char(p.month, 'YYYY-MM')) order by p.month)
        """;

    private const string LastIsAnchor = """
        select coalesce((select kind = 'anchor' from audit.leaf order by leaf_index desc limit 1), false)
        """;

    public async Task<IReadOnlyList<SealedAnchor>> MakeAsync(bool onDemand, CancellationToken stop)
    {
        var now = Moments.ToMicroseconds(await reader.NowAsync(stop).ConfigureAwait(false));
        var made = new List<SealedAnchor>();
        await using var transaction = await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, stop).ConfigureAwait(false);
        if (await WantedAsync(now, onDemand, stop).ConfigureAwait(false) is not { Count: > 0 } wanted) { return made; }
        var edge = await appender.EdgeAsync(stop).ConfigureAwait(false);
        if (edge.Size == 0) { return made; }
        var known = memory ?? new HeadMemory();
        var heads = await StoredHeads.ReadAsync(connection, edge.Size, edge.Root(), known, stop).ConfigureAwait(false);
        var map = SealReader.Good(HeadMap.Of(heads, known.LeafHash));
        var rules = await RulesAsync(now, stop).ConfigureAwait(false);
        foreach (var (reason, period) in wanted)
        {
            var entry = new AnchorEntry
            {
                Log = origin,
                At = now,
                Reason = reason,
                Period = period,
                Size = edge.Size,
                Root = edge.Root(),
                // Every event of a stream is sealed up to its head.
                Events = heads.Sum(head => head.StreamVersion),
                HeadCount = map.Count,
                Heads = map.Root,
                Rules = rules,
                Build = Build,
                TimeZones = DateTimeZoneProviders.Tzdb.VersionId,
            };
            var bytes = entry.ToBytes();
            await appender.AppendAsync(edge, [new NewLeaf(entry.Kind, null, null, null, MerkleTree.LeafHash(bytes), bytes)], stop).ConfigureAwait(false);
            await appender.RunAsync(
                "insert into audit.anchor (leaf_index, reason, at, period) values ($1, $2, $3, $4)", stop,
                new NpgsqlParameter<long> { TypedValue = entry.Size }, new NpgsqlParameter<string> { TypedValue = Word(reason) },
                new NpgsqlParameter<Instant> { TypedValue = now },
                new NpgsqlParameter { Value = (object?)period ?? DBNull.Value, NpgsqlDbType = NpgsqlTypes.NpgsqlDbType.Text }).ConfigureAwait(false);
            made.Add(new SealedAnchor(entry.Size, entry, bytes));
        }

        await transaction.CommitAsync(stop).ConfigureAwait(false);
        return made;
    }

    /// <summary>How anchors call their reason in the table, as in the entry.</summary>
    public static string Word(AnchorReason reason) => reason switch
    {
        AnchorReason.Daily => "daily",
        AnchorReason.MonthEnd => "month-end",
        _ => "on-demand",
    };

    private static string Build { get; } =
        typeof(LogEntry).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion ?? "unknown";

    private async Task<List<(AnchorReason Reason, string? Period)>> WantedAsync(Instant now, bool onDemand, CancellationToken stop)
    {
        var wanted = new List<(AnchorReason, string?)>();
        Instant? last;
        await using (var command = new NpgsqlCommand(Due, connection))
        {
            await using var row = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
            await row.ReadAsync(stop).ConfigureAwait(false);
            last = row.IsDBNull(0) ? null : row.GetFieldValue<Instant>(0);
            if (!row.GetBoolean(1)) { return wanted; }
            wanted.AddRange(row.GetFieldValue<string[]>(2).Select(month => (AnchorReason.MonthEnd, (string?)month)));
        }

        if (wanted.Count > 0) { return wanted; }
        if (last is null || last.Value.InZone(zone).Date < now.InZone(zone).Date) { wanted.Add((AnchorReason.Daily, null)); }
        else if (onDemand && !await LastIsAnchorAsync(stop).ConfigureAwait(false)) { wanted.Add((AnchorReason.OnDemand, null)); }
        return wanted;
    }

    private async Task<bool> LastIsAnchorAsync(CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(LastIsAnchor, connection);
        return (bool)(await command.ExecuteScalarAsync(stop).ConfigureAwait(false))!;
    }

    /// <summary>The digest of the program and of every law pack that is known: canonical JSON of their names and digests.</summary>
    private async Task<Digest> RulesAsync(Instant now, CancellationToken stop)
    {
        var law = (await reader.RatesAsync(now, stop).ConfigureAwait(false)).Law;
        return RulesDigest.Of(Build, law);
    }
}
