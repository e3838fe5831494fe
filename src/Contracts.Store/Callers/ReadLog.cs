using NodaTime;
using Npgsql;
using NpgsqlTypes;

namespace Contracts.Store.Callers;

/// <summary>Somebody read something of the store.</summary>
/// <param name="At">When; the database's own time.</param>
/// <param name="By">Whose key or sign-in it was.</param>
/// <param name="Role">In which role.</param>
/// <param name="Route">What was asked.</param>
/// <param name="Contract">Of which contract, <see cref="ReadLog.OfFamily"/> where it was about all contracts of a household, or null where it was about many others.</param>
/// <param name="Purpose">Why, as they said.</param>
public sealed record RecordedRead(Instant At, string By, string Role, string Route, string? Contract, string Purpose);

/// <summary>Who read what, and why. A line is written before the answer, so an answer without a line was never given.</summary>
/// <remarks>
/// Lines that come while others are being written wait and then go together, in one insert that waits for the disk once. A line that comes alone
/// goes at once. Nobody's wait ends before their own line is on the disk.
/// </remarks>
public sealed class ReadLog
{
    // An insert of more rows than so many would keep the first of them waiting for no gain.
    private const int MostTogether = 512;

    private readonly NpgsqlDataSource source;
    private readonly Lock gate = new();
    private List<Line> waiting = [];
    private bool writing;

    internal ReadLog(NpgsqlDataSource source) => this.source = source;

    /// <summary>What stands in place of a contract where all contracts of a household were read; no contract id has a colon.</summary>
    /// <param name="household">The household's reference.</param>
    public static string OfFamily(string household) => $"household:{household}";

    /// <summary>Adds a line. Where that fails it throws, and nothing may be answered.</summary>
    public async Task AddAsync(string by, string role, string route, string? contract, string purpose, CancellationToken stop = default)
    {
        var line = new Line(by, role, route, contract, purpose);
        lock (gate)
        {
            waiting.Add(line);
            if (!writing)
            {
                writing = true;
                // What one request carries with it, its trace for one, is not that of the others.
                using (ExecutionContext.SuppressFlow()) { _ = Task.Run(WriteAllAsync, CancellationToken.None); }
            }
        }

        // Whoever gives up leaves their line: that they asked is true, whether or not they were answered.
        await line.Written.Task.WaitAsync(stop).ConfigureAwait(false);
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

    /// <summary>Writes what waits until nothing does. One of these runs at a time.</summary>
    private async Task WriteAllAsync()
    {
        while (Next() is { Count: > 0 } lines)
        {
            try
            {
                await WriteAsync(lines).ConfigureAwait(false);
                foreach (var line in lines) { line.Written.SetResult(); }
            }
            catch (PostgresException) when (lines.Count > 1)
            {
                // A line that the database will not have keeps nobody else's from being written.
                await OneByOneAsync(lines).ConfigureAwait(false);
            }
            catch (Exception fault)
            {
                foreach (var line in lines) { line.Written.SetException(fault); }
            }
        }
    }

    private List<Line> Next()
    {
        lock (gate)
        {
            if (waiting.Count <= MostTogether)
            {
                var all = waiting;
                waiting = [];
                writing = all.Count > 0;
                return all;
            }

            var first = waiting[..MostTogether];
            waiting = waiting[MostTogether..];
            return first;
        }
    }

    private async Task OneByOneAsync(List<Line> lines)
    {
        foreach (var line in lines)
        {
            try
            {
                await WriteAsync([line]).ConfigureAwait(false);
                line.Written.SetResult();
            }
            catch (Exception fault)
            {
                line.Written.SetException(fault);
            }
        }
    }

    private async Task WriteAsync(List<Line> lines)
    {
        await using var command = source.CreateCommand("""
            insert into access.readings (read_by, role, route, contract, purpose)
            select read_by, role, route, contract, purpose from unnest($1, $2, $3, $4, $5) with ordinality as line (read_by, role, route, contract, purpose, place) order by place
            """);
        foreach (var column in new Func<Line, string?>[] { line => line.By, line => line.Role, line => line.Route, line => line.Contract, line => line.Purpose })
        {
            command.Parameters.Add(new NpgsqlParameter { Value = lines.Select(column).ToArray(), NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Text });
        }

        await command.ExecuteNonQueryAsync().ConfigureAwait(false);
    }

    private sealed record Line(string By, string Role, string Route, string? Contract, string Purpose)
    {
        // Whoever waits goes on elsewhere, so that the next lines are written meanwhile.
        public TaskCompletionSource Written { get; } = new(TaskCreationOptions.RunContinuationsAsynchronously);
    }
}
