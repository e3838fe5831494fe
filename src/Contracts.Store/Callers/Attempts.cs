using NodaTime;
using Npgsql;

namespace Contracts.Store.Callers;

/// <summary>
/// Attempts to sign in, by the database's clock. A name that nobody has is counted like any other, so that being locked out
/// tells nothing; what was typed as a name is kept as a hash, because it is sometimes a password.
/// </summary>
public sealed class Attempts
{
    /// <summary>How many wrong attempts in a row lock a name.</summary>
    public const int Most = 5;

    /// <summary>For how many minutes.</summary>
    public const int LockedMinutes = 15;

    // What was tried before the last success, or before a lock that has passed, is forgotten.
    private const string Standing = """
        with mine as (select attempt, succeeded, locked_until from access.attempts where who = $1),
             since as (select coalesce(max(attempt), 0) as attempt from mine where succeeded or locked_until <= clock_timestamp())
        select count(*), max(mine.locked_until) from mine, since where mine.attempt > since.attempt
        """;

    private readonly NpgsqlDataSource source;

    internal Attempts(NpgsqlDataSource source) => this.source = source;

    /// <summary>
    /// Counts an attempt as failed before the password is looked at, one after the other for each name: whoever tries a thousand
    /// at the same moment has tried five.
    /// </summary>
    /// <returns>Until when the name is locked, in which case nothing may be looked at; else null.</returns>
    public async Task<Instant?> BeginAsync(string name, CancellationToken stop = default)
    {
        var who = People.WhoIs(name);
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        await using (var alone = new NpgsqlCommand("select pg_advisory_xact_lock(hashtextextended(encode($1, 'hex'), 5))", connection, transaction))
        {
            alone.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = who });
            await alone.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }

        var (failed, until) = await StandingAsync(connection, transaction, who, stop).ConfigureAwait(false);
        if (until is not null) { return until; }
        await using (var add = new NpgsqlCommand(
            $"""
            insert into access.attempts (who, succeeded, locked_until)
            values ($1, false, case when $2 then clock_timestamp() + interval '{LockedMinutes} minutes' end)
            """,
            connection, transaction))
        {
            add.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = who });
            add.Parameters.Add(new NpgsqlParameter<bool> { TypedValue = failed + 1 >= Most });
            await add.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }

        await transaction.CommitAsync(stop).ConfigureAwait(false);
        return null;
    }

    /// <summary>The attempt was a good one: those before it are forgotten.</summary>
    public async Task SucceededAsync(string name, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("insert into access.attempts (who, succeeded) values ($1, true)");
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = People.WhoIs(name) });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }

    private static async Task<(long Failed, Instant? Until)> StandingAsync(
        NpgsqlConnection connection, NpgsqlTransaction transaction, byte[] who, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Standing, connection, transaction);
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = who });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        await reader.ReadAsync(stop).ConfigureAwait(false);
        return (reader.GetInt64(0), reader.IsDBNull(1) ? null : reader.GetFieldValue<Instant>(1));
    }
}
