using Contracts.Store.Setup;
using Npgsql;

namespace Contracts.Store.Vault;

/// <summary>
/// The vault's tables: sealed facts, found by the digest that an event holds, and a line for everybody who read them. No key is
/// here, so a copy of the database is of no use to a thief, and one from before an erasure brings nothing back.
/// </summary>
internal sealed class VaultUpgrade : IUpgradeStep
{
    private const string Sql = """
        create schema if not exists vault;
        create table vault.facts (
            digest text collate "C" primary key,
            household text collate "C" not null,
            kept_at timestamptz not null default clock_timestamp(),
            sealed bytea not null);
        create index facts_household on vault.facts (household);
        create table vault.readings (
            reading bigint generated always as identity primary key,
            household text collate "C" not null,
            read_at timestamptz not null default clock_timestamp(),
            read_by text not null,
            purpose text not null,
            students boolean not null);
        create index readings_household on vault.readings (household);
        create index events_household on contracts.mt_events ((data->>'household')) where type = 'signed';
        """;

    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
