using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>What a login finds: who it is, how the server keeps what it is given, and how far the tables are.</summary>
/// <param name="User">The role that logged in.</param>
/// <param name="Version">The version of the tables; null where there are none that this login may see.</param>
/// <param name="ZoneRules">The newest time zone rules the store has worked with.</param>
/// <param name="ChangesHistory">The roles, reachable from this login, that could change events; null for none.</param>
/// <param name="Unsafe">The settings, by name, under which an acknowledged fact may be lost or damaged unseen.</param>
internal sealed record StoreState(
    string User, int? Version, string? ZoneRules, string? ChangesHistory, IReadOnlyList<string> Unsafe, bool HasChecksums)
{
    private static readonly string[] Safe = ["fsync", "full_page_writes", "synchronous_commit"];

    private const string Session = """
        select current_user::text, current_setting('data_checksums') <> 'off',
               current_setting('fsync'), current_setting('full_page_writes'), current_setting('synchronous_commit')
        """;

    // A role counts when this login is it, or may become it by SET ROLE.
    private const string Tables = """
        select (select max(version) from contracts.schema_version),
               (select max(version) from contracts.zone_data),
               (select string_agg(r.rolname, ', ' order by r.rolname) from pg_roles r
                where pg_has_role(r.oid, 'MEMBER')
                  and (r.rolsuper or r.rolcreaterole
                       or has_table_privilege(r.oid, 'contracts.mt_events'::regclass, 'UPDATE, DELETE, TRUNCATE, TRIGGER')
                       or has_any_column_privilege(r.oid, 'contracts.mt_events'::regclass, 'UPDATE')))
        """;

    public bool IsCurrent => Version is { } found && StoreSchema.IsCurrent(found);

    public static async Task<StoreState> ReadAsync(NpgsqlDataSource source, CancellationToken stop)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        SessionZone.RequireUtc(connection);
        await using var batch = new NpgsqlBatch(connection) { BatchCommands = { new(Session), new(Tables) } };
        StoreState? session = null;
        try
        {
            await using var reader = await batch.ExecuteReaderAsync(stop).ConfigureAwait(false);
            await reader.ReadAsync(stop).ConfigureAwait(false);
            session = new StoreState(
                reader.GetString(0), null, null, null, [.. Safe.Where((_, index) => reader.GetString(2 + index) == "off")], reader.GetBoolean(1));
            await reader.NextResultAsync(stop).ConfigureAwait(false);
            await reader.ReadAsync(stop).ConfigureAwait(false);
            return session with
            {
                Version = reader.IsDBNull(0) ? null : reader.GetInt32(0),
                ZoneRules = reader.IsDBNull(1) ? null : reader.GetString(1),
                ChangesHistory = reader.IsDBNull(2) ? null : reader.GetString(2),
            };
        }
        catch (PostgresException missing) when (session is not null && IsMissing(missing))
        {
            return session;
        }
    }

    /// <summary>Stops where what is acknowledged could be lost, or damaged without anybody seeing it.</summary>
    public void RequireSafeKeeping(bool checksums)
    {
        if (Unsafe.Count > 0)
        {
            throw new StoreException($"The server runs with {string.Join(" = off and ", Unsafe)} = off: what it acknowledged could be lost. Turn it on and start again.");
        }

        if (checksums && !HasChecksums)
        {
            throw new StoreException(
                "The server keeps no checksums of its pages, so damage on the disk would be read as if it were history. Stop it and run "
                + "pg_checksums --enable; docs/audit.md says how to go on without, on a server that is not the embedded one.");
        }
    }

    /// <summary>The app role is trusted to add only: a store where it can do more is not the store that was set up.</summary>
    public void RequireHarmlessApp()
    {
        if (User == DatabaseRoles.App && ChangesHistory is { } roles)
        {
            throw new StoreException(
                $"The role {DatabaseRoles.App} can change or delete events here (through: {roles}). "
                + "An administrator takes that away again with: contracts setup --database <the owner's connection string>");
        }
    }

    private static bool IsMissing(PostgresException fault) =>
        fault.SqlState is PostgresErrorCodes.UndefinedTable or PostgresErrorCodes.InvalidSchemaName or PostgresErrorCodes.InsufficientPrivilege;
}
