using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Fleet;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Proposals;
using Contracts.Store.Fleet;
using Contracts.Store.Proposals;
using Contracts.Store.Reading;
using Contracts.Store.Setup;
using Contracts.Terms;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>
/// One writing transaction. It holds the store's writer lock from its first statement to its end, so what it reads
/// stays true, and the recording moment it is given is not before any that was ever committed.
/// </summary>
internal sealed class WriteScope : IAsyncDisposable
{
    private readonly NpgsqlConnection connection;
    private readonly Knowledge knowledge;
    private readonly Dictionary<string, Known> contracts = new(StringComparer.Ordinal);
    private readonly Dictionary<string, string?> holders = new(StringComparer.Ordinal);

    private WriteScope(NpgsqlConnection connection, NpgsqlTransaction transaction, Knowledge knowledge)
    {
        this.connection = connection;
        Transaction = transaction;
        this.knowledge = knowledge;
    }

    public NpgsqlTransaction Transaction { get; }

    public ClockReading Clock { get; private set; } = null!;

    public ReferenceData Rates { get; set; } = ReferenceData.None;

    /// <summary>The shops that have a calendar, and the month in which the books of each begin.</summary>
    public ImmutableDictionary<string, YearMonth> Shops { get; set; } = ImmutableDictionary<string, YearMonth>.Empty;

    /// <summary>Those of the quotes this batch names that have been given, by their names.</summary>
    public Dictionary<string, GivenQuote> Quotes { get; } = new(StringComparer.Ordinal);

    /// <summary>The proposals that the batch names and that were made.</summary>
    public Dictionary<string, Proposal> Proposals { get; } = new(StringComparer.Ordinal);

    /// <summary>The units that the batch has looked at, with what it adds to them.</summary>
    public Dictionary<string, UnitHistory> Units { get; } = new(StringComparer.Ordinal);

    /// <summary>The keys of this batch that were applied before.</summary>
    public Dictionary<string, CommandResult.Already> Applied { get; } = new(StringComparer.Ordinal);

    public static async Task<WriteScope> BeginAsync(
        NpgsqlDataSource source, Knowledge knowledge, ClockMode mode, Needs needs, CancellationToken stop)
    {
        var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        try
        {
            SessionZone.RequireUtc(connection);
            var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
            var scope = new WriteScope(connection, transaction, knowledge);
            await scope.ReadAsync(mode, needs, stop).ConfigureAwait(false);
            return scope;
        }
        catch
        {
            await connection.DisposeAsync().ConfigureAwait(false);
            throw;
        }
    }

    /// <summary>Whether the database is still at the other end.</summary>
    public bool IsOpen => connection.State == System.Data.ConnectionState.Open;

    public Known Contract(string id) =>
        contracts.TryGetValue(id, out var known) ? known : throw new InvalidOperationException($"Contract {id} was not asked for.");

    public void Put(string id, Known known) => contracts[id] = known;

    /// <summary>The open contract that the placements table, with this batch's changes, has for a serial.</summary>
    public async Task<string?> HolderAsync(string serial, CancellationToken stop)
    {
        if (holders.TryGetValue(serial, out var holder)) { return holder; }
        await using var command = new NpgsqlCommand("select contract from contracts.placements where serial = $1", connection, Transaction)
        {
            Parameters = { new NpgsqlParameter<string> { TypedValue = serial } },
        };
        holder = await command.ExecuteScalarAsync(stop).ConfigureAwait(false) as string;
        holders[serial] = holder;
        return holder;
    }

    /// <summary>The rates recorded before this transaction through an event, or null where none was recorded after it: then all of them count.</summary>
    public async Task<ReferenceData?> RatesThroughAsync(long sequence, CancellationToken stop)
    {
        if (lastRate is null)
        {
            await using var last = new NpgsqlCommand(RateRows.Last, connection, Transaction);
            lastRate = await last.ExecuteScalarAsync(stop).ConfigureAwait(false) as long? ?? 0;
        }

        if (sequence >= lastRate) { return null; }
        await using var command = new NpgsqlCommand(RateRows.Through, connection, Transaction);
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = sequence });
        return await RateRows.ReadAsync(command, stop).ConfigureAwait(false);
    }

    private long? lastRate;

    /// <summary>The version of a stream that is not a contract; 0 when it does not exist.</summary>
    public async Task<long> VersionAsync(string stream, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select version from contracts.mt_streams where id = $1", connection, Transaction)
        {
            Parameters = { new NpgsqlParameter<string> { TypedValue = stream } },
        };
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) as long? ?? 0;
    }

    /// <summary>Contracts that were ever in a jurisdiction and are posted through a day or beyond it.</summary>
    public async Task<List<string>> PostedFromAsync(string jurisdiction, LocalDate day, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(
            """
            select distinct e.stream_id from contracts.mt_events e
            where e.type in ('signed', 'moved') and e.data->>'jurisdiction' = $1
              and exists (select 1 from contracts.posting_sets s where s.stream = e.stream_id and s.through >= $2)
            """,
            connection, Transaction)
        {
            Parameters = { new NpgsqlParameter<string> { TypedValue = jurisdiction }, new NpgsqlParameter<LocalDate> { TypedValue = day } },
        };
        var streams = new List<string>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { streams.Add(reader.GetString(0)); }
        return streams;
    }

    /// <summary>The read model of closed months; the event beside it is the truth.</summary>
    public async Task ClosePeriodAsync(LocalDate month, long sequence, Instant at, string digest, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(
            "insert into contracts.periods (month, sequence, closed_at, digest) values ($1, $2, $3, $4)", connection, Transaction);
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = month });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = sequence });
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = at });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = digest });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }

    /// <summary>A column of texts asked for by one text.</summary>
    public async Task<List<string>> TextsAsync(string sql, string value, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(sql, connection, Transaction) { Parameters = { new NpgsqlParameter<string> { TypedValue = value } } };
        var texts = new List<string>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { texts.Add(reader.GetString(0)); }
        return texts;
    }

    /// <summary>Contracts that this batch knows of, signed for a household.</summary>
    public IEnumerable<string> SignedFor(string household) => contracts.Values
        .Where(known => known.History.IsSigned && known.History.Signing.Household == household).Select(known => known.History.Contract);

    /// <summary>Contracts that this batch knows of and that hand out an instrument of a serial number.</summary>
    public IEnumerable<string> HandedOut(string serial) => contracts.Values
        .Where(known => known.History.Facts.Any(fact => Placing.SerialIn(fact.Event) == serial)).Select(known => known.History.Contract);

    public void Place(string serial, string? contract) => holders[serial] = contract;

    /// <summary>A contract that the batch did not name, such as the one that holds a wanted instrument.</summary>
    public async Task<Known> FetchAsync(string contract, CancellationToken stop)
    {
        if (!contracts.ContainsKey(contract)) { await LoadAsync([contract], stop).ConfigureAwait(false); }
        return contracts[contract];
    }

    public async Task CommitAsync(CancellationToken stop)
    {
        await Transaction.CommitAsync(stop).ConfigureAwait(false);
        foreach (var (id, known) in contracts) { knowledge.Keep(id, known); }
        knowledge.Rates = Rates;
        knowledge.Shops = Shops;
        knowledge.Revision = Clock.Revision;
    }

    public async ValueTask DisposeAsync()
    {
        // Disposing an unfinished transaction rolls it back.
        await Transaction.DisposeAsync().ConfigureAwait(false);
        await connection.DisposeAsync().ConfigureAwait(false);
    }

    private async Task ReadAsync(ClockMode mode, Needs needs, CancellationToken stop)
    {
        var missing = needs.Contracts.Where(id => knowledge.Find(id) is null).ToArray();
        var first = knowledge.Rates is null;
        var (rates, shops) = (knowledge.Rates ?? ReferenceData.None, knowledge.Shops ?? ImmutableDictionary<string, YearMonth>.Empty);
        var loader = new ScopeReader(connection, Transaction, contracts, holders);
        Clock = await loader.BeginAsync(mode, needs, missing, Applied, stop).ConfigureAwait(false);
        if (!first && Clock.Revision != knowledge.Revision + 1)
        {
            // Somebody else wrote since: nothing remembered may be used.
            knowledge.Forget();
            first = true;
            missing = [.. needs.Contracts.Where(id => !contracts.ContainsKey(id))];
            await loader.LoadAsync(missing, stop).ConfigureAwait(false);
        }

        foreach (var id in needs.Contracts)
        {
            if (!contracts.ContainsKey(id)) { contracts[id] = knowledge.Find(id)!; }
        }

        Rates = first ? await loader.RatesAsync(stop).ConfigureAwait(false) : rates;
        Shops = first ? await loader.ShopsAsync(stop).ConfigureAwait(false) : shops;
        await QuoteRows.ReadAsync(connection, Transaction, needs.Quotes ?? [], Quotes, stop).ConfigureAwait(false);
        await ProposalRows.ReadAsync(connection, Transaction, needs.Proposals ?? [], Proposals, stop).ConfigureAwait(false);
        await ReadUnitsAsync(needs.Serials, stop).ConfigureAwait(false);
    }

    /// <summary>What is known of a unit, which is nothing where the shop keeps none of that serial.</summary>
    public async Task<UnitHistory> UnitAsync(string serial, CancellationToken stop)
    {
        if (!Units.ContainsKey(serial)) { await ReadUnitsAsync([serial], stop).ConfigureAwait(false); }
        return Units[serial];
    }

    private async Task ReadUnitsAsync(string[] serials, CancellationToken stop)
    {
        if (serials.Length == 0) { return; }
        foreach (var serial in serials) { Units[serial] = UnitHistory.Unknown(serial); }
        await using var command = new NpgsqlCommand(UnitRows.Named, connection, Transaction);
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. serials.Select(UnitStreams.Of)] });
        foreach (var unit in await UnitRows.ReadAsync(command, stop).ConfigureAwait(false)) { Units[unit.Serial] = unit; }
    }

    private Task LoadAsync(string[] ids, CancellationToken stop) =>
        new ScopeReader(connection, Transaction, contracts, holders).LoadAsync(ids, stop);
}
