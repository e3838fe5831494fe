using System.Globalization;
using Contracts.Store.Seals;
using Npgsql;

namespace Contracts.Host.Tests.Seals;

/// <summary>What was done to a row, and how the check must name it: one of these streams or tables, versions and fields.</summary>
internal sealed record Tampered(string Kind, string What, Func<SealFinding, bool> Names);

/// <summary>
/// A superuser's hand in the tables, triggers off, inside a transaction that is taken back. Each kind of change picks its
/// rows and bytes by the seed.
/// </summary>
internal sealed class Tampering(NpgsqlConnection connection, Random random)
{
    private static readonly string[] EventColumns = ["seq_id", "id", "stream_id", "version", "data", "type", "timestamp", "tenant_id", "headers", "is_archived"];

    private static readonly Dictionary<string, string[]> FieldsOf = new(StringComparer.Ordinal)
    {
        ["seq_id"] = ["seq", "row"], ["id"] = ["id"], ["stream_id"] = ["stream", "row"], ["version"] = ["ver", "row"], ["data"] = ["data"], ["type"] = ["type"],
        ["timestamp"] = ["at"], ["tenant_id"] = ["tenant", "row"], ["headers"] = ["headers"], ["is_archived"] = ["is_archived"],
    };

    private static readonly (string Table, string[] Columns)[] SealColumns =
    [
        ("leaf", ["leaf_index", "kind", "event_seq", "stream", "version", "leaf_hash", "entry"]), ("node", ["level", "idx", "hash"]),
        ("root", ["size", "root", "previous"]), ("checkpoint", ["size", "root", "note", "previous"]), ("anchor", ["leaf_index", "reason", "at", "period"]),
        ("key", ["number", "vkey"]), ("log", ["origin"]),
    ];

    /// <summary>Does one change of a kind chosen by the seed; null where the database would not have it.</summary>
    public async Task<Tampered?> DoAsync()
    {
        // The database picks the rows, by the same seed.
        await RunAsync(string.Create(CultureInfo.InvariantCulture, $"select setseed({random.NextDouble()})"));
        return random.Next(10) switch
        {
            0 or 1 or 2 => await ChangeEventAsync(EventColumns[random.Next(EventColumns.Length)]),
            3 => await SwapEventsAsync(),
            4 => await RowsAsync(),
            5 or 6 or 7 => await ChangeSealAsync(),
            8 => await RemoveSealAsync(),
            _ => await ListAsync(),
        };
    }

    private async Task<Tampered?> ChangeEventAsync(string column)
    {
        var (ctid, stream, version) = await EventAsync();
        return await MutateAsync("contracts.mt_events", column, ctid)
            ? new Tampered($"mt_events.{column}", $"{stream} {version}", Event(stream, version, FieldsOf[column]))
            : null;
    }

    private async Task<Tampered?> SwapEventsAsync()
    {
        var column = EventColumns[random.Next(EventColumns.Length - 1)];
        var (first, stream, version) = await EventAsync();
        var (second, _, _) = await EventAsync();
        if (first == second || !await DifferAsync("contracts.mt_events", column, first, second)) { return null; }
        // Unique columns change places by way of a third value.
        var aside = column switch { "seq_id" => "-1", "version" => "-1", "id" => "gen_random_uuid()", "stream_id" => "'aside'", _ => null };
        var (a, b) = (await ValueAsync("contracts.mt_events", column, first), await ValueAsync("contracts.mt_events", column, second));
        var done = await TryAsync(
            $$"""
            do $do$
            declare
                one bigint := (select seq_id from contracts.mt_events where ctid = '{{first}}');
                two bigint := (select seq_id from contracts.mt_events where ctid = '{{second}}');
            begin
                {{(aside is null ? "" : $"update contracts.mt_events set {column} = {aside} where ctid = '{first}';")}}
                update contracts.mt_events set {{column}} = {{Literal(a)}} where seq_id = two;
                update contracts.mt_events set {{column}} = {{Literal(b)}} where seq_id = {{(column == "seq_id" ? "-1" : "one")}};
            end $do$
            """);
        return done ? new Tampered($"swap of mt_events.{column}", $"{stream} {version}", Event(stream, version, FieldsOf[column])) : null;
    }

    private async Task<Tampered?> RowsAsync()
    {
        var (ctid, stream, version) = await EventAsync();
        switch (random.Next(5))
        {
            case 0:
                await RunAsync($"delete from contracts.mt_events where ctid = '{ctid}'");
                return new Tampered("delete of an event", $"{stream} {version}", Event(stream, version, "row"));
            case 1:
                await RunAsync($"delete from contracts.mt_events where stream_id = '{stream}'; delete from contracts.mt_streams where id = '{stream}'");
                return new Tampered("delete of a stream", stream, found => found.Stream == stream && found.Field == "row");
            case 2:
                // The newest events with all that was derived from them.
                var most = await NumberAsync("select max(seq_id) from contracts.mt_events");
                var last = await TextAsync($"select stream_id from contracts.mt_events where seq_id = {most}");
                await RunAsync($"""
                    delete from contracts.mt_events where seq_id > {most - random.Next(1, 20)};
                    update contracts.mt_streams s set version = (select coalesce(max(version), 0) from contracts.mt_events where stream_id = s.id)
                    """);
                return new Tampered("delete of the tail", last, found => found.Stream == last && found.Field == "row");
            case 3:
                var forged = await TryAsync($$"""
                    insert into contracts.mt_events (seq_id, id, stream_id, version, data, type, timestamp, tenant_id, headers, is_archived)
                    select nextval('contracts.mt_events_sequence'), gen_random_uuid(), stream_id, (select max(version) + 1 from contracts.mt_events where stream_id = '{{stream}}'),
                           data, type, timestamp, tenant_id, headers, false from contracts.mt_events where ctid = '{{ctid}}'
                    """);
                return forged ? new Tampered("copy of an event at the end of its stream", stream, found => found.Stream == stream) : null;
            default:
                await RunAsync($$"""
                    insert into contracts.mt_events (seq_id, id, stream_id, version, data, type, timestamp, tenant_id, headers, is_archived)
                    select nextval('contracts.mt_events_sequence'), gen_random_uuid(), 'forged', 1, data, type, timestamp, tenant_id, headers, false
                    from contracts.mt_events where ctid = '{{ctid}}'
                    """);
                return new Tampered("forged event", "forged", found => found.Stream == "forged");
        }
    }

    private async Task<Tampered?> ChangeSealAsync()
    {
        var (table, columns) = SealColumns[random.Next(SealColumns.Length)];
        var column = columns[random.Next(columns.Length)];
        var (ctid, names) = await SealAsync(table);
        if (ctid is null || !await MutateAsync($"audit.{table}", column, ctid)) { return null; }
        return new Tampered($"audit.{table}.{column}", ctid, names);
    }

    private async Task<Tampered?> RemoveSealAsync()
    {
        string[] tables = ["leaf", "node", "root", "checkpoint", "anchor", "key", "log", "hole"];
        var table = tables[random.Next(tables.Length)];
        var (ctid, names) = await SealAsync(table);
        if (ctid is null) { return null; }
        await RunAsync($"delete from audit.{table} where ctid = '{ctid}'");
        return new Tampered($"delete of audit.{table}", ctid, names);
    }

    private async Task<Tampered?> ListAsync()
    {
        var id = await TextAsync("select id from contracts.mt_streams order by random() limit 1");
        var sql = random.Next(3) switch
        {
            0 => $"update contracts.mt_streams set version = version + {random.Next(1, 3)} where id = '{id}'",
            1 => $"delete from contracts.mt_streams where id = '{id}'",
            _ => $"update contracts.mt_streams set is_archived = true where id = '{id}'",
        };
        await RunAsync(sql);
        return new Tampered("mt_streams", id, found => found.Stream == id && found.Field.StartsWith("mt_streams.", StringComparison.Ordinal));
    }

    private static Func<SealFinding, bool> Event(string stream, long version, params string[] fields) =>
        found => found.Stream == stream && found.Version == version && fields.Contains(found.Field, StringComparer.Ordinal);

    /// <summary>A row of the seals, and what names it: the table, or for a leaf the event that it is of.</summary>
    private async Task<(string? Ctid, Func<SealFinding, bool> Names)> SealAsync(string table)
    {
        var ctid = await TextAsync($"select ctid::text from audit.{table} order by random() limit 1");
        if (ctid.Length == 0) { return (null, _ => false); }
        if (table != "leaf") { return (ctid, found => found.Stream == $"audit.{table}" || (table == "log" && found.Field == "log")); }
        var stream = await TextAsync($"select coalesce(stream, 'audit.leaf') from audit.leaf where ctid = '{ctid}'");
        var version = await NumberAsync($"select coalesce(version, leaf_index) from audit.leaf where ctid = '{ctid}'");
        return (ctid, found => (found.Stream == stream && found.Version == version) || (found.Stream == "audit.leaf" && found.Field == "row"));
    }

    private async Task<(string Ctid, string Stream, long Version)> EventAsync()
    {
        await using var command = new NpgsqlCommand("select ctid::text, stream_id, version from contracts.mt_events order by random() limit 1", connection);
        await using var reader = await command.ExecuteReaderAsync();
        await reader.ReadAsync();
        return (reader.GetString(0), reader.GetString(1), reader.GetInt64(2));
    }

    /// <summary>Flips a bit, drops or doubles a character of the value as text, until the database takes it and it is another value.</summary>
    private async Task<bool> MutateAsync(string table, string column, string ctid)
    {
        var type = await TextAsync($"select pg_typeof({column})::text from {table} where ctid = '{ctid}'");
        var before = await ValueAsync(table, column, ctid);
        for (var attempt = 0; attempt < 25; attempt++)
        {
            var after = type switch
            {
                "boolean" => before == "true" ? "false" : "true",
                _ when before is null => random.Next(1, 1000).ToString(CultureInfo.InvariantCulture),
                _ => Mutate(before),
            };
            if (await TryAsync($"""
                do $do$ begin
                    if {Literal(after)}::{type} is not distinct from (select {column} from {table} where ctid = '{ctid}') then raise exception 'the same'; end if;
                    update {table} set {column} = {Literal(after)}::{type} where ctid = '{ctid}';
                end $do$
                """)) { return true; }
        }

        return false;
    }

    private string Mutate(string text)
    {
        if (text.Length == 0) { return "x"; }
        var at = random.Next(text.Length);
        return random.Next(4) switch
        {
            0 => text.Remove(at, 1),
            1 => text.Insert(at, text[at].ToString()),
            _ => text[..at] + (char)(text[at] ^ (1 << random.Next(5))) + text[(at + 1)..],
        };
    }

    private static string Literal(string? value) => value is null ? "null" : $"'{value.Replace("'", "''", StringComparison.Ordinal)}'";

    private async Task<bool> DifferAsync(string table, string column, string first, string second) => await NumberAsync(
        $"select ((select {column} from {table} where ctid = '{first}') is distinct from (select {column} from {table} where ctid = '{second}'))::int") == 1;

    private async Task<string?> ValueAsync(string table, string column, string ctid)
    {
        await using var command = new NpgsqlCommand($"select {column}::text from {table} where ctid = '{ctid}'", connection);
        return await command.ExecuteScalarAsync() as string;
    }

    private async Task<string> TextAsync(string sql)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        return await command.ExecuteScalarAsync() as string ?? "";
    }

    private async Task<long> NumberAsync(string sql)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        return Convert.ToInt64(await command.ExecuteScalarAsync(), CultureInfo.InvariantCulture);
    }

    private async Task RunAsync(string sql)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync();
    }

    private async Task<bool> TryAsync(string sql)
    {
        await RunAsync("savepoint attempt");
        try
        {
            await RunAsync(sql);
            return true;
        }
        catch (PostgresException)
        {
            await RunAsync("rollback to savepoint attempt");
            return false;
        }
    }
}
