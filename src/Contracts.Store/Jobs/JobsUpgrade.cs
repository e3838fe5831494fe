using Contracts.Store.Setup;
using Npgsql;

namespace Contracts.Store.Jobs;

/// <summary>The step that gives a store the list of its jobs' runs: one row for a job and a day, and how far it has come.</summary>
internal sealed class JobsUpgrade : IUpgradeStep
{
    private const string Sql = """
        create table access.job_runs (
            job text collate "C" not null,
            day date not null,
            began_at timestamptz not null default clock_timestamp(),
            ended_at timestamptz null,
            attempts int not null default 1,
            done bigint not null default 0,
            total bigint null,
            outcome jsonb null,
            fault text null,
            primary key (job, day));
        """;

    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
