using Contracts.Fleet;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Fleet;

/// <summary>Where units are and what they earned, of their own streams and of the contracts that name them.</summary>
public sealed class UnitBook
{
    private readonly NpgsqlDataSource source;
    private readonly StoreReader reader;

    internal UnitBook(NpgsqlDataSource source, StoreReader reader) => (this.source, this.reader) = (source, reader);

    /// <summary>One unit as of a day, as known at a moment; null where nothing names it by then.</summary>
    public async Task<UnitLife?> FindAsync(string serial, LocalDate on, Instant known, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(UnitRows.Named);
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [UnitStreams.Of(serial)] });
        var history = (await UnitRows.ReadAsync(command, stop).ConfigureAwait(false)).SingleOrDefault()?.AsKnownAt(Moments.ToMicroseconds(known))
            ?? UnitHistory.Unknown(serial);
        var contracts = new List<ContractHistory>();
        foreach (var id in await NamingAsync(serial, stop).ConfigureAwait(false))
        {
            if (await reader.HistoryAsync(id, known, stop).ConfigureAwait(false) is { } contract) { contracts.Add(contract); }
        }

        return UnitLife.At(history, contracts, await reader.RatesAsync(known, stop).ConfigureAwait(false), on);
    }

    /// <summary>The streams of all units that are kept, as known at a moment, in the order of their serial numbers.</summary>
    public async Task<IReadOnlyList<UnitHistory>> KeptAsync(Instant known, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(UnitRows.All);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known) });
        return await UnitRows.ReadAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>The whole fleet over a span of days, as known at a moment: every contract is folded once.</summary>
    public async Task<FleetReport> ReportAsync(LocalDate from, LocalDate through, Instant known, CancellationToken stop = default)
    {
        var rates = await reader.RatesAsync(known, stop).ConfigureAwait(false);
        var uses = new List<UnitUse>();
        await foreach (var some in reader.MapHistoriesAsync(known, history => UnitLife.UsesOf(history, rates, through), stop).ConfigureAwait(false)) { uses.AddRange(some); }
        return FleetReport.Of(await KeptAsync(known, stop).ConfigureAwait(false), uses, from, through);
    }

    /// <summary>Every swapped unit that is not back at the end of a day, as known at a moment, by the day it is due and then by contract.</summary>
    public async Task<IReadOnlyList<DueBack>> DueBackAsync(LocalDate on, Instant known, CancellationToken stop = default)
    {
        var rates = await reader.RatesAsync(known, stop).ConfigureAwait(false);
        var due = new List<DueBack>();
        await foreach (var some in reader.MapHistoriesAsync(known, history => AccountFold.At(history, rates, on) is { } state ? DueBack.Of(state) : [], stop).ConfigureAwait(false))
        {
            due.AddRange(some);
        }

        return [.. due.OrderBy(one => one.ReturnBy).ThenBy(one => one.Contract, StringComparer.Ordinal)];
    }

    private async Task<List<string>> NamingAsync(string serial, CancellationToken stop)
    {
        await using var command = source.CreateCommand(UnitRows.Contracts);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = serial });
        var ids = new List<string>();
        await using var rows = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await rows.ReadAsync(stop).ConfigureAwait(false)) { ids.Add(rows.GetString(0)); }
        return ids;
    }
}
