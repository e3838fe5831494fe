using Contracts.History;
using Contracts.Store.Setup;
using Contracts.Terms;
using NodaTime;
using Npgsql;

namespace Contracts.Store;

/// <summary>A place where the table of placements does not say what the events say.</summary>
public sealed record PlacementDifference(string Contract, string Detail);

/// <summary>
/// The one read model: which open contract holds which instrument. Built from events, kept by the pipeline in the
/// command's own transaction, and compared or built again here.
/// </summary>
public sealed class Placements
{
    private readonly NpgsqlDataSource source;
    private readonly StoreReader reader;
    private readonly DateTimeZone zone;

    internal Placements(NpgsqlDataSource source, StoreReader reader, DateTimeZone zone)
    {
        this.source = source;
        this.reader = reader;
        this.zone = zone;
    }

    /// <summary>
    /// What differs. A contract that became the family's by a payment or by the passing of days writes nothing, so its
    /// row may stand until its instrument is placed again: that is no difference.
    /// </summary>
    public async Task<IReadOnlyList<PlacementDifference>> DifferencesAsync(CancellationToken stop = default)
    {
        var (held, allowed) = await FromEventsAsync(stop).ConfigureAwait(false);
        var differences = new List<PlacementDifference>();
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var command = new NpgsqlCommand("select serial, contract from contracts.placements", connection);
        await using var rows = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await rows.ReadAsync(stop).ConfigureAwait(false))
        {
            var (serial, contract) = (rows.GetString(0), rows.GetString(1));
            if (held.TryGetValue(serial, out var rightful) && rightful == contract) { held.Remove(serial); continue; }
            if (!allowed.Contains((serial, contract)))
            {
                differences.Add(new PlacementDifference(contract, $"the table gives it {serial}, the events do not"));
            }
        }

        differences.AddRange(held.Select(row => new PlacementDifference(row.Value, $"the events give it {row.Key}, the table does not")));
        return differences;
    }

    /// <summary>Builds the table again from the events, and answers what was different before.</summary>
    public async Task<IReadOnlyList<PlacementDifference>> RebuildAsync(CancellationToken stop = default)
    {
        var differences = await DifferencesAsync(stop).ConfigureAwait(false);
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        await ExecuteAsync(connection, $"select pg_advisory_xact_lock({StoreSchema.WriterLock})", stop).ConfigureAwait(false);
        // Read under the lock: nobody writes between what is read and what is written.
        var (held, _) = await FromEventsAsync(stop, locked: true).ConfigureAwait(false);
        await ExecuteAsync(connection, "delete from contracts.placements", stop).ConfigureAwait(false);
        await using (var writer = await connection.BeginBinaryImportAsync(
            "copy contracts.placements (serial, contract) from stdin (format binary)", stop).ConfigureAwait(false))
        {
            foreach (var (serial, contract) in held)
            {
                await writer.WriteRowAsync(stop, serial, contract).ConfigureAwait(false);
            }

            await writer.CompleteAsync(stop).ConfigureAwait(false);
        }

        await transaction.CommitAsync(stop).ConfigureAwait(false);
        return differences;
    }

    private async Task<(Dictionary<string, string> Held, HashSet<(string Serial, string Contract)> Allowed)> FromEventsAsync(
        CancellationToken stop, bool locked = false)
    {
        var now = locked ? Instant.MaxValue : await reader.NowAsync(stop).ConfigureAwait(false);
        var rates = await reader.RatesAsync(now, stop).ConfigureAwait(false);
        var held = new Dictionary<string, string>(StringComparer.Ordinal);
        var allowed = new HashSet<(string, string)>();
        await foreach (var history in reader.HistoriesAsync(now, stop).ConfigureAwait(false))
        {
            if (!history.IsSigned) { continue; }
            var recorded = history.Entries[^1].At.InZone(zone).Date;
            var today = locked ? recorded : now.InZone(zone).Date;
            if (Held(history, rates, today) is { } serial) { held[serial] = history.Contract; }
            if (Held(history, rates, recorded) is { } then) { allowed.Add((then, history.Contract)); }
            if (AccountFold.At(history, rates, today) is { Status: ContractStatus.Owned } owned)
            {
                allowed.Add((owned.Serial, history.Contract));
            }
        }

        return (held, allowed);
    }

    /// <summary>The serial an open contract holds on a day, counting everything recorded, also what is dated ahead.</summary>
    internal static string? Held(ContractHistory history, ReferenceData rates, LocalDate day)
    {
        if (!history.IsSigned) { return null; }
        var last = LocalDate.Max(day, history.Facts[^1].Event.On);
        return AccountFold.At(history, rates, last) is
        {
            Status: ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold or ContractStatus.Lost,
        } state
            ? state.Serial
            : null;
    }

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
