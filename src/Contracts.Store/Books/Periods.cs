using Contracts.Store.Json;
using NodaTime;
using NodaTime.Text;
using Npgsql;

namespace Contracts.Store.Books;

/// <summary>A closed month.</summary>
/// <param name="Month">The month.</param>
/// <param name="ClosedAt">The recorded instant of the close, which is what its packet knows.</param>
/// <param name="Event">What was recorded.</param>
public sealed record ClosedMonth(YearMonth Month, Instant ClosedAt, PeriodClosed Event);

/// <summary>Which months are closed.</summary>
public sealed class Periods
{
    private readonly NpgsqlDataSource source;

    internal Periods(NpgsqlDataSource source) => this.source = source;

    /// <summary>The closed months in their order.</summary>
    public async Task<IReadOnlyList<ClosedMonth>> ClosedAsync(CancellationToken stop = default)
    {
        // From the events, not from the table beside them: a packet is made again from what cannot change.
        await using var command = source.CreateCommand(
            "select e.data, e.timestamp from contracts.mt_events e where e.stream_id = $1 and e.type = 'period_closed' order by e.version");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = BookStreams.Periods });
        var months = new List<ClosedMonth>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var closed = (PeriodClosed)EventJson.Read("period_closed"u8, reader.GetFieldValue<byte[]>(0));
            months.Add(new ClosedMonth(YearMonthPattern.Iso.Parse(closed.Month).Value, reader.GetFieldValue<Instant>(1), closed));
        }

        return months;
    }

    /// <summary>The earliest month after the last closed one, and before the given one, that has something booked in it.</summary>
    internal async Task<YearMonth?> OpenBeforeAsync(YearMonth month, YearMonth? lastClosed, CancellationToken stop)
    {
        await using var command = source.CreateCommand("select min(booked_on) from contracts.book_cells where booked_on < $1 and booked_on >= $2");
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = month.OnDayOfMonth(1) });
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = lastClosed?.PlusMonths(1).OnDayOfMonth(1) ?? new LocalDate(1, 1, 1) });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        return await reader.ReadAsync(stop).ConfigureAwait(false) && !reader.IsDBNull(0)
            ? reader.GetFieldValue<LocalDate>(0).ToYearMonth()
            : null;
    }
}
