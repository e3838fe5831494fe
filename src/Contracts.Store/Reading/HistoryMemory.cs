using Contracts.History;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Reading;

/// <summary>
/// Every contract's history kept between questions for later and later moments, so that each reads only what was recorded since the one before. What is recorded has one order of
/// moments and numbers and is never changed, so the answer is that of <see cref="StoreReader.HistoriesAsync"/>. For a run through many simulated days; it holds
/// everything in memory, and lets go of it where that is too much.
/// </summary>
public sealed class HistoryMemory
{
    private const string Since = $"select {StoredEvent.Columns} from contracts.mt_events e where e.seq_id > $1 and e.timestamp <= $2 order by e.seq_id";

    /// <summary>Beyond this many events nothing is kept and each question reads everything; about 200 MB.</summary>
    private const int Most = 500_000;

    private readonly SortedDictionary<string, ContractHistory> histories = new(StringComparer.Ordinal);
    private readonly NpgsqlDataSource source;
    private readonly StoreReader reader;
    private Instant known = Instant.MinValue;
    private long last;
    private int events;

    internal HistoryMemory(NpgsqlDataSource source, StoreReader reader) => (this.source, this.reader) = (source, reader);

    /// <summary>Every contract known at a moment, in the ordinal order of the ids.</summary>
    /// <param name="at">The moment: not after the present one of the store.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<IReadOnlyCollection<ContractHistory>> KnownAtAsync(Instant at, CancellationToken stop = default)
    {
        at = Moments.ToMicroseconds(at);
        if (at < known || events > Most)
        {
            var read = new List<ContractHistory>();
            await foreach (var history in reader.HistoriesAsync(at, stop).ConfigureAwait(false)) { read.Add(history); }
            return read;
        }

        try
        {
            await ReadAsync(at, stop).ConfigureAwait(false);
        }
        catch
        {
            // What was read in part is not kept: the next question begins anew.
            Forget();
            throw;
        }

        known = at;
        var all = histories.Values.ToList();
        if (events > Most) { histories.Clear(); }
        return all;
    }

    private async Task ReadAsync(Instant at, CancellationToken stop)
    {
        await using var command = source.CreateCommand(Since);
        command.CommandTimeout = 0;
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = last });
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = at });
        await using var rows = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await rows.ReadAsync(stop).ConfigureAwait(false))
        {
            var contract = rows.GetString(0);
            last = rows.GetInt64(1);
            if (!StoredEvent.IsContractId(contract)) { continue; }
            events++;
            histories[contract] = histories.GetValueOrDefault(contract, ContractHistory.Unsigned(contract)).Evolve(RowReader.Read(rows));
        }
    }

    private void Forget()
    {
        histories.Clear();
        (known, last, events) = (Instant.MinValue, 0, 0);
    }
}
