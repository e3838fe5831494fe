using System.Text;
using System.Text.Json;
using Contracts.Instruments;
using Contracts.Store.Json;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Fleet;

/// <summary>Reads the streams of units.</summary>
internal static class UnitRows
{
    private const string Columns = "select e.stream_id, e.seq_id, e.timestamp, e.type, e.data, e.headers from contracts.mt_events e";

    public const string Named = $"{Columns} where e.stream_id = any($1) order by e.stream_id, e.version";

    // A range that the index on streams serves: the semicolon is the character after the colon.
    public const string All = $"{Columns} where e.stream_id >= 'unit:' and e.stream_id < 'unit;' and e.timestamp <= $1 order by e.stream_id, e.version";

    /// <summary>Contracts whose events hand out an instrument of a serial number; their own facts say when.</summary>
    public const string Contracts = """
        select distinct e.stream_id from contracts.mt_events e
        where e.type in ('signed', 'instrument_swapped', 'instrument_exchanged', 'reinstated')
          and coalesce(e.data -> 'instrument' ->> 'serial', e.data ->> 'serial') = $1
        order by 1
        """;

    /// <summary>The histories of the streams that the command reads; a unit without a stream is not among them.</summary>
    public static async Task<List<UnitHistory>> ReadAsync(NpgsqlCommand command, CancellationToken stop)
    {
        var units = new List<UnitHistory>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var serial = reader.GetString(0)[UnitStreams.Prefix.Length..];
            if (units is not [.., var last] || last.Serial != serial) { units.Add(UnitHistory.Unknown(serial)); }
            units[^1] = units[^1].Evolve(Recorded(reader));
        }

        return units;
    }

    private static UnitRecorded Recorded(NpgsqlDataReader reader)
    {
        var sequence = reader.GetInt64(1);
        if (EventJson.Read(Encoding.UTF8.GetBytes(reader.GetString(3)), reader.GetFieldValue<byte[]>(4)) is not UnitEvent fact)
        {
            throw new StoreException($"Event {sequence} is of a kind that no unit has.");
        }

        using var headers = JsonDocument.Parse(reader.IsDBNull(5) ? "{}" : reader.GetString(5));
        return new UnitRecorded(
            fact, sequence, reader.GetFieldValue<Instant>(2), Text("key") ?? throw new StoreException($"Event {sequence} has no command key."), Text("actor"), Text("reason"));

        string? Text(string name) => headers.RootElement.TryGetProperty(name, out var value) ? value.GetString() : null;
    }
}
