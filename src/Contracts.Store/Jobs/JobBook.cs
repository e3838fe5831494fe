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
/// <param name="IsHeld">Whether somebody is at the job, be it for this day or another.</param>
public sealed record JobRun(
    string Job, LocalDate Day, Instant BeganAt, Instant? EndedAt, int Attempts, long Done, long? Total, string? Outcome, string? Fault, bool IsHeld);

/// <summary>
/// The runs of the jobs. A job runs once for a day: whoever begins it holds a lock of the database, so that two hosts or a host and a command line do
/// not both; one that was cut off is begun again, and what it had done is done already, because its commands have keys.
/// </summary>
public sealed class JobBook
{
    /// <summary>Jobs have advisory locks of their own kind; the second number is the hash of the name.</summary>
    private const int LockKind = 0x6a6f6273;

    /// <summary>Without waiting for the disk: a run that a crash takes is run again, and what it had recorded has a key.</summary>
    private const string NoWait = "select set_config('synchronous_commit', 'off', true)";

    /// <summary>Whoever is at a job holds its lock; a run that has no end and no holder was cut off.</summary>
    private static readonly string Columns = $"""
        job, day, began_at, ended_at, attempts, done, total, outcome::text, fault, exists (
            select from pg_locks l where l.locktype = 'advisory' and l.granted and l.objsubid = 2 and l.classid = {LockKind}::oid
              and l.objid = (hashtext(job)::bigint & 4294967295)::oid and l.database = (select oid from pg_database where datname = current_database()))
        """;

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

    /// <summary>The last day before another for which a job was done, or null.</summary>
    /// <param name="job">The job.</param>
    /// <param name="before">The other day.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<LocalDate?> LastDoneAsync(string job, LocalDate before, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("select max(day) from access.job_runs where job = $1 and day < $2 and ended_at is not null");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = job });
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = before });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        await reader.ReadAsync(stop).ConfigureAwait(false);
        return reader.IsDBNull(0) ? null : reader.GetFieldValue<LocalDate>(0);
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
    /// <param name="work">The work; is given a way to say how far it is and a token that gives up, and answers with what came of it as JSON.</param>
    /// <param name="stop">Gives up; the run counts as cut off.</param>
    /// <returns>The run as it stands, and whether it was done just now.</returns>
    /// <exception cref="StoreException">The work failed; the run says so too, and may be begun again.</exception>
    public async Task<(JobRun Run, bool Now)> RunAsync(
        string job, LocalDate day, Func<IProgress<(long Done, long? Total)>, CancellationToken, Task<string>> work, CancellationToken stop = default)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        if (!await TryLockAsync(connection, job, stop).ConfigureAwait(false))
        {
            var others = await FindAsync(job, day, stop).ConfigureAwait(false);
            return (others ?? throw new StoreException($"The job {job} is running for another day; try again when it is done."), false);
        }

        try
        {
            if (await FindAsync(job, day, stop).ConfigureAwait(false) is { EndedAt: not null } before) { return (before with { IsHeld = false }, false); }
            await ExecuteAsync(
                connection,
                """
                insert into access.job_runs (job, day) values ($1, $2)
                on conflict (job, day) do update set began_at = clock_timestamp(), attempts = access.job_runs.attempts + 1, done = 0, total = null, fault = null
                """,
                job, day, null, null, null).ConfigureAwait(false);
            await WorkAsync(connection, job, day, work, stop).ConfigureAwait(false);
        }
        finally
        {
            await UnlockAsync(connection, job).ConfigureAwait(false);
        }

        return ((await FindAsync(job, day, stop).ConfigureAwait(false))!, true);
    }

    private static async Task WorkAsync(
        NpgsqlConnection connection, string job, LocalDate day, Func<IProgress<(long Done, long? Total)>, CancellationToken, Task<string>> work, CancellationToken stop)
    {
        var (done, total) = (0L, (long?)null);
        var told = new Told(progress => (done, total) = progress);
        using var givenUp = CancellationTokenSource.CreateLinkedTokenSource(stop);
        var running = BeginAsync(work, told, givenUp.Token);
        try
        {
            var shown = (0L, (long?)null);
            // The connection that holds the lock also tells how far the work is, about once a second.
            // A stop is told to the work, which then ends the waiting: the delay itself goes on.
            while (await Task.WhenAny(running, Task.Delay(TimeSpan.FromSeconds(1), CancellationToken.None)).ConfigureAwait(false) != running)
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
        catch (Exception fault)
        {
            // Nothing goes on without the lock: the work is told to stop and waited for.
            await givenUp.CancelAsync().ConfigureAwait(false);
            await ((Task)running).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            var words = fault is OperationCanceledException ? "stopped before it was done" : fault.Message;
            await ExecuteAsync(connection, "update access.job_runs set done = $3, total = $4, fault = $5 where job = $1 and day = $2", job, day, done, total, words)
                .ConfigureAwait(false);
            throw;
        }
    }

    /// <summary>Begins the work; what it throws before it first waits is its fault as well.</summary>
    private static async Task<string> BeginAsync(
        Func<IProgress<(long Done, long? Total)>, CancellationToken, Task<string>> work, Told told, CancellationToken stop) => await work(told, stop).ConfigureAwait(false);

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
        await using var batch = new NpgsqlBatch(connection);
        batch.BatchCommands.Add(new NpgsqlBatchCommand(NoWait));
        var command = new NpgsqlBatchCommand(sql);
        batch.BatchCommands.Add(command);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = job });
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = day });
        if (done is { } many)
        {
            command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = many });
            command.Parameters.Add(new NpgsqlParameter { Value = total is { } all ? all : DBNull.Value, NpgsqlDbType = NpgsqlDbType.Bigint });
        }

        if (text is not null) { command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = text }); }
        await batch.ExecuteNonQueryAsync().ConfigureAwait(false);
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
                reader.IsDBNull(7) ? null : reader.GetString(7), reader.IsDBNull(8) ? null : reader.GetString(8), reader.GetBoolean(9)));
        }

        return runs;
    }

    /// <summary>Says at once, on whichever thread: the usual progress goes another way round.</summary>
    private sealed class Told(Action<(long Done, long? Total)> tell) : IProgress<(long Done, long? Total)>
    {
        public void Report((long Done, long? Total) value) => tell(value);
    }
}
