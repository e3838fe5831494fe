using Contracts.Store.Setup;
using Npgsql;

namespace Contracts.Store.Webhooks;

/// <summary>
/// The step that gives a store its webhooks: who wants to be told, and how far each was told. The first and the end of it are rows that are
/// added; only how far one has come is changed.
/// </summary>
internal sealed class WebhooksUpgrade : IUpgradeStep
{
    private const string Sql = """
        create table access.webhooks (
            id text collate "C" primary key,
            url text not null,
            events text[] null,
            allow_private boolean not null,
            secret text not null,
            made_at timestamptz not null default clock_timestamp(),
            made_by text not null);
        create table access.webhook_removals (
            webhook text collate "C" primary key references access.webhooks (id),
            removed_at timestamptz not null default clock_timestamp(),
            removed_by text not null);
        create table access.webhook_states (
            webhook text collate "C" primary key references access.webhooks (id),
            position bigint not null check (position >= 0),
            turn bigint not null default 0,
            attempts int not null default 0,
            next_at timestamptz null,
            last_error text null,
            last_error_at timestamptz null,
            delivered_at timestamptz null,
            paused_because text null);
        """;

    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
