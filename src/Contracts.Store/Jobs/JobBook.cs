using NodaTime;
using Npgsql;
using NpgsqlTypes;

namespace Contracts.Store.Jobs;

/// <summary>One run of a job for a day.</summary>
/// <param name="Job">The name of the job.</param>
/// <param name="Day">The day that it is for.</param>
/// <param name="BeganAt">When it last began.</param>
/// <param name="EndedAt">When it was done; null while it runs, or after it failed.</param>
/// <param name="Attempts">How often it was begun.</param>
/// <param name="Done">How many things it has looked at.</param>
/// <param name="Total">How many there are; null where it cannot say.</param>
/// <param name="Outcome">What came of it, as JSON.</param>
/// <param name="Fault">Why it failed the last time, or null.</param>
public sealed record JobRun(
    string Job, LocalDate Day, Instant BeganAt, Instant? EndedAt, int Attempts, long Done, long? Total, string? Outcome, string? Fault);

/// <summary>
/// The runs of the jobs. A job runs once for a day: whoever begins it holds a lock of the database, so that two hosts or a host and a command line do
/// not both; one that was cut off is begun again, and what it had done is done already, because its commands have keys.
/// </summary>
public sealed class JobBook
{
    /// <summary>Jobs have advisory locks of their own kind; the second number is the hash of the name.</summary>
    private const int LockKind = 0x6a6f6273;

    private const string Columns = "job, day, began_at, ended_at, attempts, done, total, outcome::text, fault";

    private readonly NpgsqlDataSource source;

    internal JobBook(NpgsqlDataSource source) => this.source = source;

    /// <summary>The newest runs first; of one day in the order in which they began.</summary>
    /// <param name="most">How many at most.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<IReadOnlyList<JobRun>> ListAsync(int most, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand($"select {Columns} from access.job_runs order by day desc, began_at, job limit $1");
        command.Parameters.Add(new NpgsqlParameter<int> { TypedValue = most });
        return await ReadAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>One run, or null.</summary>
    /// <param name="job">The job.</param>
    /// <param name="day">The day.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<JobRun?> FindAsync(string job, LocalDate day, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand($"select {Columns} from access.job_runs where job = $1 and day = $2");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = job });
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = day });
        return (await ReadAsync(command, stop).ConfigureAwait(false)).SingleOrDefault();
    }

    /// <summary>Runs a job for a day unless it was done, or somebody else is at it.</summary>
    /// <param name="job">The job.</param>
    /// <param name="day">The day.</param>
    /// <param name="work">The work; is given a way to say how far it is, and answers with what came of it as JSON.</param>
    /// <param name="stop">Gives up; the run counts as cut off.</param>
    /// <returns>The run as it stands, and whether it was done just now.</returns>
    /// <exception cref="StoreException">The work failed; the run says so too, and may be begun again.</exception>
    public async Task<(JobRun Run, bool Now)> RunAsync(
        string job, LocalDate day, Func<IProgress<(long Done, long? Total)>, Task<string>> work, CancellationToken stop = default)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        if (!await TryLockAsync(connection, job, stop).ConfigureAwait(false))
        {
            var others = await FindAsync(job, day, stop).ConfigureAwait(false);
            return (others ?? throw new StoreException($"The job {job} is running for another day; try again when it is done."), false);
        }

        try
        {
            if (await FindAsync(job, day, stop).ConfigureAwait(false) is { EndedAt: not null } before) { return (before, false); }
            await ExecuteAsync(
                connection,
                """
                insert into access.job_runs (job, day) values ($1, $2)
                on conflict (job, day) do update set began_at = clock_timestamp(), attempts = access.job_runs.attempts + 1, done = 0, total = null, fault = null
                """,
                job, day, null, null, null).ConfigureAwait(false);
            await WorkAsync(connection, job, day, work).ConfigureAwait(false);
        }
        finally
        {
            await UnlockAsync(connection, job).ConfigureAwait(false);
        }

        return ((await FindAsync(job, day, stop).ConfigureAwait(false))!, true);
    }

    private static async Task WorkAsync(NpgsqlConnection connection, string job, LocalDate day, Func<IProgress<(long Done, long? Total)>, Task<string>> work)
    {
        var (done, total) = (0L, (long?)null);
        var told = new Told(progress => (done, total) = progress);
        try
        {
            var running = work(told);
            var shown = (0L, (long?)null);
            // The connection that holds the lock also tells how far the work is, about once a second.
            while (await Task.WhenAny(running, Task.Delay(TimeSpan.FromSeconds(1))).ConfigureAwait(false) != running)
            {
                if ((done, total) == shown) { continue; }
                shown = (done, total);
                await ExecuteAsync(connection, "update access.job_runs set done = $3, total = $4 where job = $1 and day = $2", job, day, done, total, null).ConfigureAwait(false);
            }

            var outcome = await running.ConfigureAwait(false);
            await ExecuteAsync(
                connection, "update access.job_runs set done = $3, total = $4, outcome = $5::jsonb, ended_at = clock_timestamp() where job = $1 and day = $2",
                job, day, done, total, outcome).ConfigureAwait(false);
        }
        catch (Exception fault) when (fault is StoreException or NpgsqlException or IOException or TimeoutException or OperationCanceledException)
        {
            var words = fault is OperationCanceledException ? "stopped before it was done" : fault.Message;
            await ExecuteAsync(connection, "update access.job_runs set done = $3, total = $4, fault = $5 where job = $1 and day = $2", job, day, done, total, words)
                .ConfigureAwait(false);
            throw;
        }
    }

    private static async Task<bool> TryLockAsync(NpgsqlConnection connection, string job, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand($"select pg_try_advisory_lock({LockKind}, hashtext($1))", connection);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = job });
        return (bool)(await command.ExecuteScalarAsync(stop).ConfigureAwait(false))!;
    }

    private static async Task UnlockAsync(NpgsqlConnection connection, string job)
    {
        await using var command = new NpgsqlCommand($"select pg_advisory_unlock({LockKind}, hashtext($1))", connection);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = job });
        await command.ExecuteNonQueryAsync().ConfigureAwait(false);
    }

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, string job, LocalDate day, long? done, long? total, string? text)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = job });
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = day });
        if (done is { } many)
        {
            command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = many });
            command.Parameters.Add(new NpgsqlParameter { Value = total is { } all ? all : DBNull.Value, NpgsqlDbType = NpgsqlDbType.Bigint });
        }

        if (text is not null) { command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = text }); }
        await command.ExecuteNonQueryAsync().ConfigureAwait(false);
    }

    private static async Task<IReadOnlyList<JobRun>> ReadAsync(NpgsqlCommand command, CancellationToken stop)
    {
        var runs = new List<JobRun>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            runs.Add(new JobRun(
                reader.GetString(0), reader.GetFieldValue<LocalDate>(1), reader.GetFieldValue<Instant>(2),
                reader.IsDBNull(3) ? null : reader.GetFieldValue<Instant>(3), reader.GetInt32(4), reader.GetInt64(5), reader.IsDBNull(6) ? null : reader.GetInt64(6),
                reader.IsDBNull(7) ? null : reader.GetString(7), reader.IsDBNull(8) ? null : reader.GetString(8)));
        }

        return runs;
    }

    /// <summary>Says at once, on whichever thread: the usual progress goes another way round.</summary>
    private sealed class Told(Action<(long Done, long? Total)> tell) : IProgress<(long Done, long? Total)>
    {
        public void Report((long Done, long? Total) value) => tell(value);
    }
}
