using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>
/// The step that gives a store its roles: schemas apart for seals and for personal data, the memory of the time zone rules, and
/// who may do what. The tables of seals and vault come by steps of their own, before or after this one.
/// </summary>
internal sealed class PrivilegesUpgrade : IUpgradeStep
{
    private const string Sql = """
        create schema if not exists audit;
        create schema if not exists vault;
        create table if not exists contracts.zone_data (
            version text collate "C" primary key,
            first_used_at timestamptz not null default clock_timestamp());
        """;

    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using (var command = new NpgsqlCommand(Sql, connection)) { await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false); }
        await ZoneData.RecordAsync(connection, stop).ConfigureAwait(false);
        await Privileges.ApplyAsync(connection, stop).ConfigureAwait(false);
    }
}

/// <summary>Gives every role what it needs and nothing else; to be called again after each change of the tables.</summary>
internal static class Privileges
{
    // A login without the right to make roles is nothing unusual. Since PostgreSQL 16 the right does not reach roles that others made.
    private const string CanApply = """
        select me.rolsuper
            or ((select count(*) from pg_roles where rolname = any($1)) = cardinality($1) or me.rolcreaterole)
               and (coalesce(pg_has_role(owner.oid, case when new.semantics then 'SET' else 'MEMBER' end), false)
                    or me.rolcreaterole and (not new.semantics or owner.oid is null or pg_has_role(owner.oid, 'MEMBER WITH ADMIN OPTION')))
        from pg_roles me
        cross join (select current_setting('server_version_num')::int >= 160000) as new (semantics)
        left join pg_roles owner on owner.rolname = 'contracts_owner'
        where me.rolname = current_user
        """;

    /// <summary>Whether it was done: a login that may neither make roles nor become the owner leaves everything as it is.</summary>
    public static async Task<bool> ApplyAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using (var question = new NpgsqlCommand(CanApply, connection))
        {
            question.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. DatabaseRoles.All] });
            if (await question.ExecuteScalarAsync(stop).ConfigureAwait(false) is not true) { return false; }
        }

        foreach (var sql in new[] { PrivilegeSql.Roles, PrivilegeSql.Ownership, PrivilegeSql.Grants, PrivilegeSql.Defaults })
        {
            await using var command = new NpgsqlCommand(sql, connection);
            await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }

        return true;
    }

    /// <summary>Also takes from everybody what PostgreSQL gives to all in a database; for one that holds the store and nothing else.</summary>
    public static async Task CloseDatabaseAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(PrivilegeSql.Alone, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
