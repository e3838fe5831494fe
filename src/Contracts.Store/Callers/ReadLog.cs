using NodaTime;
using Npgsql;

namespace Contracts.Store.Callers;

/// <summary>Somebody read something of the store.</summary>
/// <param name="At">When; the database's own time.</param>
/// <param name="By">Whose key or sign-in it was.</param>
/// <param name="Role">In which role.</param>
/// <param name="Route">What was asked.</param>
/// <param name="Contract">Of which contract, or null where it was about many.</param>
/// <param name="Purpose">Why, as they said.</param>
public sealed record RecordedRead(Instant At, string By, string Role, string Route, string? Contract, string Purpose);

/// <summary>Who read what, and why. A line is written before the answer, so an answer without a line was never given.</summary>
public sealed class ReadLog
{
    private readonly NpgsqlDataSource source;

    internal ReadLog(NpgsqlDataSource source) => this.source = source;

    /// <summary>Adds a line. Where that fails it throws, and nothing may be answered.</summary>
    public async Task AddAsync(string by, string role, string route, string? contract, string purpose, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("insert into access.readings (read_by, role, route, contract, purpose) values ($1, $2, $3, $4, $5)");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = role });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = route });
        command.Parameters.Add(new NpgsqlParameter { Value = contract ?? (object)DBNull.Value, NpgsqlDbType = NpgsqlTypes.NpgsqlDbType.Text });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = purpose });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }

    /// <summary>Everybody who read a contract, in order.</summary>
    public async Task<IReadOnlyList<RecordedRead>> OfAsync(string contract, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(
            "select read_at, read_by, role, route, contract, purpose from access.readings where contract = $1 order by reading");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = contract });
        var lines = new List<RecordedRead>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            lines.Add(new RecordedRead(
                reader.GetFieldValue<Instant>(0), reader.GetString(1), reader.GetString(2), reader.GetString(3), reader.GetString(4), reader.GetString(5)));
        }

        return lines;
    }
}
