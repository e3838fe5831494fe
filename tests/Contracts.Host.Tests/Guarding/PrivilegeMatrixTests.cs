using System.Text;
using Contracts.Host.Serving;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Tests.Support;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Guarding;

/// <summary>Who may do what, as PostgreSQL itself says it, against what a person read and found right.</summary>
public sealed class PrivilegeMatrixTests(Server server)
{
    // The null role stands for everybody.
    private const string Relations = """
        select coalesce(r.rolname, 'public'), n.nspname || '.' || c.relname,
               has_table_privilege(coalesce(r.oid, 0::oid), c.oid, 'SELECT'), has_table_privilege(coalesce(r.oid, 0::oid), c.oid, 'INSERT'),
               case when has_table_privilege(coalesce(r.oid, 0::oid), c.oid, 'UPDATE') then 'update'
                    else (select 'update(' || string_agg(a.attname, ',' order by a.attname) || ')' from pg_attribute a
                          where a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
                            and has_column_privilege(coalesce(r.oid, 0::oid), c.oid, a.attnum, 'UPDATE')) end,
               has_table_privilege(coalesce(r.oid, 0::oid), c.oid, 'DELETE'), has_table_privilege(coalesce(r.oid, 0::oid), c.oid, 'TRUNCATE'),
               has_table_privilege(coalesce(r.oid, 0::oid), c.oid, 'REFERENCES'), has_table_privilege(coalesce(r.oid, 0::oid), c.oid, 'TRIGGER')
        from (select oid, rolname from pg_roles where rolname = any($1) union all select null, null) r,
             pg_class c join pg_namespace n on n.oid = c.relnamespace
        where n.nspname in ('contracts', 'audit', 'vault', 'access', 'messages') and c.relkind in ('r', 'p', 'v')
        order by (r.rolname collate "C") nulls last, (n.nspname || '.' || c.relname) collate "C"
        """;

    private const string Schemas = """
        select coalesce(r.rolname, 'public'), n.nspname, has_schema_privilege(coalesce(r.oid, 0::oid), n.oid, 'USAGE'),
               has_schema_privilege(coalesce(r.oid, 0::oid), n.oid, 'CREATE')
        from (select oid, rolname from pg_roles where rolname = any($1) union all select null, null) r, pg_namespace n
        where n.nspname in ('contracts', 'audit', 'vault', 'access', 'messages', 'public')
        order by (r.rolname collate "C") nulls last, n.nspname collate "C"
        """;

    [Fact]
    public async Task Every_role_has_on_every_table_what_the_committed_matrix_says()
    {
        var connection = await server.NewGuardedAsync();
        await MessageTables.MakeAsync(connection.Owner!, CancellationToken.None);
        Golden.Same("fixtures/privileges.txt", await MatrixAsync(connection.Owner!));
    }

    [Fact]
    public async Task A_step_that_comes_later_gives_its_tables_by_the_same_rules()
    {
        var connection = await server.NewGuardedAsync();
        await Server.RunAsync(connection.Owner!, "create table audit.later (id bigint generated always as identity, note text); create table vault.later (id int)");
        await Server.RunAsync(server.As(DatabaseRoles.Sealer, connection.Everyday), "insert into audit.later (note) values ('sealed')");
        await Server.RunAsync(server.As(DatabaseRoles.Personal, connection.Everyday), "insert into vault.later values (1); delete from vault.later");
        var before = GivenTo(await MatrixAsync(connection.Owner!));
        Assert.Contains("contracts_sealer audit.later select insert", before, StringComparison.Ordinal);
        await StoreSetup.RunAsync(connection.Owner!, alone: true);
        Assert.Equal(before, GivenTo(await MatrixAsync(connection.Owner!)));
    }

    /// <summary>Without the owner, who gets the new table only at the end of the set-up.</summary>
    private static string GivenTo(string matrix) =>
        string.Join('\n', matrix.Split('\n').Where(line => !line.StartsWith(DatabaseRoles.Owner, StringComparison.Ordinal)));

    [Fact]
    public async Task Nothing_in_the_schemas_belongs_to_anybody_but_the_owner_and_nothing_runs_with_anothers_rights()
    {
        var connection = await server.NewGuardedAsync();
        Assert.Equal(0L, await ScalarAsync(connection.Owner!, """
            select (select count(*) from pg_class c join pg_namespace n on n.oid = c.relnamespace
                    where n.nspname in ('contracts', 'audit', 'vault', 'access') and pg_get_userbyid(c.relowner) <> 'contracts_owner')
                 + (select count(*) from pg_proc p join pg_namespace n on n.oid = p.pronamespace
                    where n.nspname in ('contracts', 'audit', 'vault', 'access') and (pg_get_userbyid(p.proowner) <> 'contracts_owner' or p.prosecdef))
                 + (select count(*) from pg_namespace where nspname in ('contracts', 'audit', 'vault', 'access') and pg_get_userbyid(nspowner) <> 'contracts_owner')
                 + (select count(*) from pg_auth_members where pg_get_userbyid(member) like 'contracts\_%')
            """));
        Assert.Equal(
            "contracts_app/t,contracts_owner/f,contracts_pii/t,contracts_read/t,contracts_sealer/t",
            await ScalarAsync(connection.Owner!, """
                select string_agg(rolname || '/' || left(rolcanlogin::text, 1), ',' order by rolname) from pg_roles
                where rolname like 'contracts\_%' and not (rolsuper or rolcreatedb or rolcreaterole or rolreplication or rolbypassrls)
                """));
    }

    private static async Task<object?> ScalarAsync(string connection, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync();
    }

    private static async Task<string> MatrixAsync(string connection)
    {
        var text = new StringBuilder("# Who may do what: made from a live database by PrivilegeMatrixTests; CONTRACTS_GOLDEN=write writes it anew.\n");
        await using var source = NpgsqlDataSource.Create(connection);
        await ReadAsync(Schemas, ["usage", "create"]);
        await ReadAsync(Relations, ["select", "insert", "", "delete", "truncate", "references", "trigger"]);
        return text.ToString();

        async Task ReadAsync(string sql, string[] names)
        {
            await using var command = source.CreateCommand(sql);
            command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. DatabaseRoles.All] });
            await using var reader = await command.ExecuteReaderAsync();
            while (await reader.ReadAsync())
            {
                var cells = names.Select((name, index) =>
                    name.Length == 0 ? reader.IsDBNull(2 + index) ? "-" : reader.GetString(2 + index) : reader.GetBoolean(2 + index) ? name : "-");
                text.Append(reader.GetString(0)).Append(' ').Append(reader.GetString(1)).Append(' ').AppendJoin(' ', cells).Append('\n');
            }
        }
    }
}
