using System.Globalization;
using DuckDB.NET.Data;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Benchmarks.Books;

/// <summary>
/// The peers of a trial balance on two dates: the same postings as a flat table, one row a line, in PostgreSQL with a
/// covering index and in DuckDB in process with a file of its own. Every posting is there and no period is expanded;
/// what of a period is earned by a day is worked out in the query. DuckDB is also given the periods expanded into days,
/// up to a size, and the faster of the two counts.
/// </summary>
internal sealed class FlatPostings : IAsyncDisposable
{
    private const long MostExpanded = 60_000_000;

    // By the last whole day a line moved nothing yet, or its share by cumulative rounding, or all of it.
    private const string Earned = """
        case when all_days is null or booked_day.d >= starts + (all_days - 1) then cents
             else sign(cents)::bigint * ((2 * abs(cents) * (booked_day.d - starts + 1) + all_days) DIV (2 * all_days)) end - taken
        """;

    private readonly BenchStore store;
    private readonly DuckDBConnection duck;
    private readonly string file;

    private FlatPostings(BenchStore store, DuckDBConnection duck, string file)
    {
        this.store = store;
        this.duck = duck;
        this.file = file;
    }

    public long Lines { get; private set; }

    /// <summary>Rows of the table whose periods are expanded, or 0 where that was left out for its size.</summary>
    public long ExpandedLines { get; private set; }

    public static async Task<FlatPostings> MakeAsync(BenchStore store, string folder)
    {
        var file = Path.Combine(folder, $"flat-{store.Name}.duckdb");
        var duck = new DuckDBConnection($"DataSource={file}");
        await duck.OpenAsync();
        var flat = new FlatPostings(store, duck, file);
        await flat.FillPostgresAsync();
        await flat.FillDuckAsync(folder);
        return flat;
    }

    /// <summary>Totals through a day, as known at a moment, by plain SQL in PostgreSQL.</summary>
    public async Task<Dictionary<(int Account, string Authority), long>> PostgresAsync(LocalDate through, Instant known, LocalDate? from = null)
    {
        var totals = new Dictionary<(int, string), long>();
        await using var command = store.Source.CreateCommand(Query("contracts_bench.lines", "/", through, known, from));
        await using var reader = await command.ExecuteReaderAsync();
        while (await reader.ReadAsync()) { totals[(reader.GetInt32(0), reader.GetString(1))] = reader.GetInt64(2); }
        return totals;
    }

    /// <summary>The same in DuckDB, periods worked out in the query.</summary>
    public Task<Dictionary<(int Account, string Authority), long>> DuckAsync(LocalDate through, Instant known) =>
        DuckAsync(Query("lines", "//", through, known, null));

    /// <summary>The same in DuckDB, over periods expanded into days.</summary>
    public Task<Dictionary<(int Account, string Authority), long>> DuckExpandedAsync(LocalDate through, Instant known) => DuckAsync($"""
        select account, authority, sum(cents)::bigint from days
        where booked_on <= {Date(through)} and recorded_at <= {Moment(known)} group by account, authority
        """);

    public async ValueTask DisposeAsync()
    {
        await duck.DisposeAsync();
        File.Delete(file);
    }

    private static string Query(string table, string div, LocalDate through, Instant known, LocalDate? from)
    {
        var amount = Earned.Replace("DIV", div, StringComparison.Ordinal);
        var until = amount.Replace("booked_day.d", Date(through), StringComparison.Ordinal);
        var value = from is not { } first
            ? $"sum({until})"
            : $"sum(({until}) - case when booked_on < {Date(first)} then {amount.Replace("booked_day.d", Date(first.PlusDays(-1)), StringComparison.Ordinal)} else 0 end)";
        var moves = from is { } start ? $"and last_on >= {Date(start)}" : "";
        return $"""
            select account, authority, ({value})::bigint from {table}
            where booked_on <= {Date(through)} and recorded_at <= {Moment(known)} {moves} group by account, authority
            """;
    }

    private async Task FillPostgresAsync()
    {
        await store.ExecuteAsync("""
            drop schema if exists contracts_bench cascade;
            create schema contracts_bench;
            create table contracts_bench.lines as
                select l.account / 100 as account, coalesce(l.authority, '') as authority, l.day as booked_on, s.recorded_at,
                       l.span_from as starts, l.span_to - l.span_from as all_days, coalesce(l.span_to - 1, l.day) as last_on, l.amount as cents,
                       case when l.span_from is null or l.day = l.span_from then 0
                            else sign(l.amount)::bigint * ((2 * abs(l.amount) * (l.day - l.span_from) + (l.span_to - l.span_from))
                                                           / (2 * (l.span_to - l.span_from))) end as taken
                from contracts.posting_sets s, unnest(s.accounts, s.authorities, s.days, s.starts, s.ends, s.cents)
                     as l (account, authority, day, span_from, span_to, amount)
                where s.open_from is null
                order by s.sequence;
            create index on contracts_bench.lines (booked_on, recorded_at) include (account, authority, cents, starts, all_days, taken);
            """);
        await store.ExecuteAsync("vacuum analyze contracts_bench.lines");
        Lines = await store.ReadAsync<long>("select count(*) from contracts_bench.lines");
        if (await store.ReadAsync<long>("select count(*) from contracts.posting_sets where open_from is not null") > 0)
        {
            throw new InvalidOperationException("The flat table books every line on its own day; a portfolio with closed months needs more.");
        }
    }

    private async Task FillDuckAsync(string folder)
    {
        var csv = Path.Combine(folder, "flat.csv");
        await using (var connection = await store.Source.OpenConnectionAsync())
        await using (var text = new StreamWriter(csv))
        using (var copy = await connection.BeginTextExportAsync(
            """
            copy (select account, authority, booked_on, to_char(recorded_at, 'YYYY-MM-DD HH24:MI:SS.US'), starts, all_days, cents, taken
                  from contracts_bench.lines) to stdout (format csv)
            """))
        {
            var buffer = new char[1 << 16];
            for (int read; (read = await copy.ReadAsync(buffer)) > 0;) { await text.WriteAsync(buffer.AsMemory(0, read)); }
        }

        Execute($"""
            create table lines as select * from read_csv('{csv}', header = false, nullstr = '', columns =
                {"{"} 'account': 'INTEGER', 'authority': 'VARCHAR', 'booked_on': 'DATE', 'recorded_at': 'TIMESTAMP', 'starts': 'DATE', 'all_days': 'INTEGER', 'cents': 'BIGINT', 'taken': 'BIGINT' {"}"});
            update lines set authority = '' where authority is null;
            """);
        File.Delete(csv);
        var expanded = await ScalarAsync("select sum(case when all_days is null then 1 else all_days - (booked_on - starts) end)::bigint from lines");
        if (expanded <= MostExpanded)
        {
            ExpandedLines = expanded;
            Execute("""
                create table days as
                    select account, authority, booked_on, recorded_at, cents from lines where all_days is null
                    union all
                    select account, authority, day::date, recorded_at, by_then - lag(by_then, 1, taken) over (partition by line order by day)
                    from (select row_number() over () as line, * from lines where all_days is not null) l,
                         lateral (select unnest(range(booked_on, starts + all_days, interval 1 day)) as day) d,
                         lateral (select sign(cents)::bigint * ((2 * abs(cents) * (day::date - starts + 1) + all_days) // (2 * all_days)) as by_then) t
                    order by recorded_at
                """);
        }

        Execute("checkpoint");
    }

    private void Execute(string sql)
    {
        using var command = duck.CreateCommand();
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }

    private async Task<long> ScalarAsync(string sql)
    {
        await using var command = duck.CreateCommand();
        command.CommandText = sql;
        return Convert.ToInt64(await command.ExecuteScalarAsync(), CultureInfo.InvariantCulture);
    }

    private async Task<Dictionary<(int Account, string Authority), long>> DuckAsync(string sql)
    {
        var totals = new Dictionary<(int, string), long>();
        await using var command = duck.CreateCommand();
        command.CommandText = sql;
        await using var reader = await command.ExecuteReaderAsync();
        while (await reader.ReadAsync())
        {
            totals[(reader.GetInt32(0), reader.GetString(1))] = reader.GetInt64(2);
        }

        return totals;
    }

    private static string Date(LocalDate day) => $"date '{LocalDatePattern.Iso.Format(day)}'";

    // PostgreSQL reads it in the session's zone, which is UTC; DuckDB's timestamps have none.
    private static string Moment(Instant known) => $"timestamp '{known.InUtc().LocalDateTime.ToString("uuuu-MM-dd HH:mm:ss.ffffff", CultureInfo.InvariantCulture)}'";
}
