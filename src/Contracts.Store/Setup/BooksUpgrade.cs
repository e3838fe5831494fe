using Contracts.Books;
using Contracts.History;
using Contracts.Store.Books;
using Contracts.Store.Json;
using Contracts.Terms;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>
/// Takes a store from before there were books to one that has them: every command recorded so far is posted as it would
/// have been posted then, in one transaction.
/// </summary>
internal static class BooksUpgrade
{
    private const int Batch = 5000;

    public static async Task RunAsync(NpgsqlDataSource source, CancellationToken stop)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        await ExecuteAsync(connection, $"select pg_advisory_xact_lock({StoreSchema.WriterLock})", stop).ConfigureAwait(false);
        await ExecuteAsync(connection, BookSchema.Sql, stop).ConfigureAwait(false);
        var rates = await RatesAsync(source, stop).ConfigureAwait(false);
        var waiting = new List<PostingSet>();
        var postings = new PostingBatch();
        var contracts = new StoreReader(source).MapHistoriesAsync(Instant.MaxValue, history => SetsOf(history, rates), stop);
        await foreach (var sets in contracts.ConfigureAwait(false))
        {
            waiting.AddRange(sets);
            if (waiting.Count < Batch) { continue; }
            await PostingAppender.AppendAsync(connection, transaction, postings.Fill(waiting, LocalDate.MaxIsoValue), stop).ConfigureAwait(false);
            waiting.Clear();
        }

        await PostingAppender.AppendAsync(connection, transaction, postings.Fill(waiting, LocalDate.MaxIsoValue), stop).ConfigureAwait(false);
        await ExecuteAsync(connection, $"insert into contracts.schema_version values ({StoreSchema.Base})", stop).ConfigureAwait(false);
        await transaction.CommitAsync(stop).ConfigureAwait(false);
    }

    private static List<PostingSet> SetsOf(ContractHistory history, List<(long Sequence, Instant At, ReferenceData Rates)> rates)
    {
        var sets = new List<PostingSet>();
        var before = ContractHistory.Unsigned(history.Contract);
        LiveBooks? live = null;
        var known = ReferenceData.None;
        var next = 0;
        foreach (var command in history.Entries.GroupBy(entry => entry.Key))
        {
            var first = command.First();
            for (; next < rates.Count && rates[next].Sequence < first.Sequence; next++)
            {
                // A rate for days that were posted already posted them again.
                AddJob(sets, new PostingJob(rates[next].Sequence, rates[next].At, before, before, known, rates[next].Rates), ref live);
                known = rates[next].Rates;
            }

            var after = command.Aggregate(before, (so, entry) => so.Evolve(entry));
            AddJob(sets, new PostingJob(first.Sequence, first.At, before, after, known, known), ref live);
            before = after;
        }

        for (; next < rates.Count; next++)
        {
            AddJob(sets, new PostingJob(rates[next].Sequence, rates[next].At, before, before, known, rates[next].Rates), ref live);
            known = rates[next].Rates;
        }

        return sets;
    }

    private static void AddJob(List<PostingSet> sets, PostingJob job, ref LiveBooks? live)
    {
        if (job.After.IsSigned && job.Work(openFrom: null, ref live) is { } set) { sets.Add(set); }
    }

    private static async Task<List<(long Sequence, Instant At, ReferenceData Rates)>> RatesAsync(NpgsqlDataSource source, CancellationToken stop)
    {
        var all = new List<(long, Instant, ReferenceData)>();
        var rates = ReferenceData.None;
        await using var command = source.CreateCommand(
            "select e.seq_id, e.timestamp, e.data from contracts.mt_events e where e.stream_id >= 'tax:' and e.stream_id < 'tax;' order by e.seq_id");
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            rates = ((TaxRateSet)EventJson.Read("tax_rate_set"u8, reader.GetFieldValue<byte[]>(2))).AddTo(rates);
            all.Add((reader.GetInt64(0), reader.GetFieldValue<Instant>(1), rates));
        }

        return all;
    }

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(sql, connection) { CommandTimeout = 0 };
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
