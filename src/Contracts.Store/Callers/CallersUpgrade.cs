using Contracts.Store.Setup;
using Npgsql;

namespace Contracts.Store.Callers;

/// <summary>
/// The step that gives a store its list of API keys and its list of who read what. Nothing in either is changed or taken out:
/// a key ends by a row of its own, so that who could read when stays known.
/// </summary>
internal sealed class CallersUpgrade : IUpgradeStep
{
    private const string Sql = """
        create schema if not exists access;
        create table access.keys (
            id text collate "C" primary key,
            digest bytea not null unique check (octet_length(digest) = 32),
            name text not null,
            role text not null,
            made_at timestamptz not null default clock_timestamp(),
            made_by text not null,
            expires_at timestamptz not null);
        create table access.revocations (
            key text collate "C" primary key references access.keys (id),
            revoked_at timestamptz not null default clock_timestamp(),
            revoked_by text not null);
        create table access.readings (
            reading bigint generated always as identity primary key,
            read_at timestamptz not null default clock_timestamp(),
            read_by text not null,
            role text not null,
            route text not null,
            contract text collate "C" null,
            purpose text not null);
        create index readings_contract on access.readings (contract);
        """;

    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
