using Contracts.Store.Setup;
using Npgsql;

namespace Contracts.Store.Callers;

/// <summary>
/// The step that gives a store its people. Like the keys they are added to only: a new password, a wrong attempt, the end of a
/// session and that somebody works here no longer are rows of their own.
/// </summary>
internal sealed class PeopleUpgrade : IUpgradeStep
{
    private const string Sql = """
        create table access.people (
            who bytea primary key check (octet_length(who) = 32),
            name text not null,
            role text not null,
            made_at timestamptz not null default clock_timestamp(),
            made_by text not null);
        create table access.passwords (
            password bigint generated always as identity primary key,
            who bytea not null references access.people (who),
            hash text not null,
            set_at timestamptz not null default clock_timestamp(),
            set_by text not null);
        create index passwords_who on access.passwords (who, password desc);
        create table access.departures (
            who bytea primary key references access.people (who),
            disabled_at timestamptz not null default clock_timestamp(),
            disabled_by text not null);
        create table access.attempts (
            attempt bigint generated always as identity primary key,
            who bytea not null check (octet_length(who) = 32),
            tried_at timestamptz not null default clock_timestamp(),
            succeeded boolean not null,
            locked_until timestamptz null);
        create index attempts_who on access.attempts (who, attempt desc);
        create table access.ended_sessions (
            session bytea primary key check (octet_length(session) = 32),
            ended_at timestamptz not null default clock_timestamp());
        """;

    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
