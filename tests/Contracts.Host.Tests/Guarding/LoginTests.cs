using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Setup;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Guarding;

/// <summary>Who logs in for what, with the embedded server and with one of the shop's own.</summary>
public sealed class LoginTests(Server server)
{
    private static readonly StoreSettings Settings = new(Server.Zone, true);

    [Fact]
    public async Task The_embedded_server_is_set_up_by_its_superuser_and_worked_with_as_the_app()
    {
        await using var own = await OwnServer.StartAsync();
        await using (var store = await own.OpenAsync())
        {
            Assert.Equal((true, null), (store.IsGuarded, store.Warning));
            await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
            Assert.Equal(
                DatabaseRoles.App,
                await ScalarAsync(own.Embedded.OwnerConnectionString, "select string_agg(distinct usename::text, ',') from pg_stat_activity where application_name = 'contracts'"));
        }

        // A server made before there were roles has no passwords for them.
        File.Delete(Path.Combine(own.Folder, "postgres", "contracts_app.password"));
        await Server.RunAsync(own.Embedded.OwnerConnectionString, "create role contracts login password 'from before'");
        await own.RestartAsync();
        await using (var again = await own.OpenAsync()) { Assert.Equal(1, await again.Reader.CountAsync()); }
        Assert.Equal(false, await ScalarAsync(own.Embedded.OwnerConnectionString, "select rolcanlogin from pg_roles where rolname = 'contracts'"));
    }

    [Fact]
    public async Task Two_that_start_at_once_set_up_one_store()
    {
        await using var own = await OwnServer.StartAsync();
        await Server.RunAsync(own.Embedded.OwnerConnectionString, string.Join("; ", DatabaseRoles.All.Select(role => $"drop role {role}")));
        foreach (var name in new[] { "one", "two", "three" }) { await Server.RunAsync(own.Embedded.OwnerConnectionString, $"create database {name}"); }
        var connection = own.Embedded.Connection;
        var made = await Task.WhenAll(new[] { "one", "two", "three", "contracts", "one", "two", "three", "contracts" }
            .Select(name => StoreSetup.RunAsync(connection.In(name).Owner!, alone: true)));
        Assert.All(made, Assert.True);
        await own.StopAsync();
        await own.RestartAsync();
        foreach (var name in new[] { "one", "two", "three", "contracts" })
        {
            await using var store = await own.OpenAsync(own.Embedded.Connection.In(name));
            Assert.True(store.IsGuarded);
        }
    }

    [Fact]
    public async Task The_roles_of_one_server_are_made_once_however_many_databases_make_them_at_the_same_moment()
    {
        await using var own = await OwnServer.StartAsync();
        await Server.RunAsync(own.Embedded.OwnerConnectionString, "create database another");
        var ways = new[] { own.Embedded.Connection, own.Embedded.Connection.In("another") }.Select(way => NpgsqlDataSource.Create(way.Owner!)).ToList();
        var connections = new List<NpgsqlConnection>();
        for (var number = 0; number < 8; number++) { connections.Add(await ways[number % 2].OpenConnectionAsync()); }
        for (var round = 0; round < 25; round++)
        {
            await Server.RunAsync(own.Embedded.OwnerConnectionString, string.Join("; ", DatabaseRoles.All.Select(role => $"drop role {role}")));
            await Task.WhenAll(connections.Select(async connection =>
            {
                await using var make = new NpgsqlCommand(PrivilegeSql.Roles, connection);
                await make.ExecuteNonQueryAsync();
            }));
            Assert.Equal(5L, await ScalarAsync(own.Embedded.OwnerConnectionString, """
                select count(*) from pg_roles r join pg_db_role_setting s on s.setrole = r.oid
                where rolname like 'contracts\_%' and s.setconfig = array['TimeZone=UTC'] and rolcanlogin = (rolname <> 'contracts_owner')
                """));
        }

        foreach (var connection in connections) { await connection.DisposeAsync(); }
        foreach (var way in ways) { await way.DisposeAsync(); }
    }

    [Fact]
    public async Task Whoever_works_as_the_owner_is_told_and_goes_on()
    {
        var database = await server.NewBareDatabaseAsync();
        await using (var store = await ContractsStore.OpenAsync(database, Settings))
        {
            Assert.False(store.IsGuarded);
            Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Lines.Tax))[0]);
        }

        var listed = await Shell.ContractsWithAsync(database, "accounts");
        Assert.Equal((0, "[]"), (listed.Exit, listed.Output.Trim()));
        Assert.Contains("privileges do not protect the history", listed.Error, StringComparison.Ordinal);
        var asApp = await Shell.ContractsAsync(database, "accounts");
        Assert.Equal((0, ""), (asApp.Exit, asApp.Error));
    }

    [Fact]
    public async Task An_owner_who_may_make_no_roles_works_on_and_an_administrator_sets_them_up_later()
    {
        var database = await server.NewBareDatabaseAsync();
        var plain = await OwnedByAsync(database, "plain", "nocreaterole");
        await using (var store = await ContractsStore.OpenAsync(plain, Settings))
        {
            Assert.NotNull(store.Warning);
            await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        }

        var tried = await Shell.ContractsWithAsync(plain, "setup");
        Assert.Equal(3, tried.Exit);
        Assert.Contains("may not make roles", tried.Error, StringComparison.Ordinal);
        Assert.Equal(0, (await Shell.ContractsWithAsync(database, "setup")).Exit);
        await using var guarded = await ContractsStore.OpenAsync(server.As(DatabaseRoles.App, database), Settings);
        Assert.True(guarded.IsGuarded);
        Assert.IsType<CommandResult.Applied>((await guarded.ApplyAsync(Lines.Pay("C-1", "p", "21.60", "2026-09-02T12:00:00Z")))[0]);
    }

    [Fact]
    public async Task An_owner_who_is_no_superuser_and_may_make_roles_can_set_up()
    {
        var database = await server.NewBareDatabaseAsync();
        var maker = await OwnedByAsync(database, "maker", "createrole");
        if ((int)(await ScalarAsync(database, "select current_setting('server_version_num')::int"))! >= 160000)
        {
            // There CREATEROLE does not reach roles that somebody else made, and the administrator has to let it.
            Assert.Equal(3, (await Shell.ContractsWithAsync(maker, "setup")).Exit);
            await Server.RunAsync(database, "grant contracts_owner to maker");
        }

        var done = await Shell.ContractsWithAsync(maker, "setup");
        Assert.Equal((0, ""), (done.Exit, done.Output));
        Assert.Contains("alter role contracts_app password", done.Error, StringComparison.Ordinal);
        await using var guarded = await ContractsStore.OpenAsync(server.As(DatabaseRoles.App, database), Settings);
        Assert.True(guarded.IsGuarded);
        await using var asMaker = await ContractsStore.OpenAsync(maker, Settings);
        Assert.IsType<CommandResult.Applied>((await asMaker.ApplyAsync(Lines.Tax))[0]);
    }

    [Fact]
    public async Task Where_the_server_asks_nobody_for_a_password_the_owners_string_leads_to_the_app()
    {
        await using var own = await OwnServer.StartAsync();
        await own.StopAsync();
        await File.WriteAllTextAsync(Path.Combine(own.Cluster, "pg_hba.conf"), "local all all trust\nhost all all 127.0.0.1/32 trust\n");
        await own.RestartAsync();
        var trusted = new NpgsqlConnectionStringBuilder(own.Embedded.OwnerConnectionString) { Password = null }.ConnectionString;
        await using var store = await own.OpenAsync(new StoreConnection(trusted));
        Assert.Equal((true, null), (store.IsGuarded, store.Warning));
        Assert.Equal(DatabaseRoles.App, new NpgsqlConnectionStringBuilder(store.Connection.Everyday).Username);
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        Assert.DoesNotContain("Password", store.Connection.ToString(), StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public async Task A_copy_that_came_without_its_grants_gets_them_again()
    {
        var connection = await server.NewGuardedAsync();
        await Server.RunAsync(connection.Owner!, "revoke all on all tables in schema contracts from contracts_app; revoke usage on schema contracts from contracts_app");
        await Assert.ThrowsAsync<StoreException>(() => ContractsStore.OpenAsync(new StoreConnection(connection.Everyday), Settings));
        await using var store = await ContractsStore.OpenAsync(connection, Settings);
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Lines.Tax))[0]);
    }

    private static async Task<string> OwnedByAsync(string database, string role, string rights)
    {
        var text = new NpgsqlConnectionStringBuilder(database);
        await Server.RunAsync(database, $"create role {role} login password 'invented' {rights}; alter database {text.Database} owner to {role}");
        (text.Username, text.Password) = (role, "invented");
        return text.ConnectionString;
    }

    private static async Task<object?> ScalarAsync(string connection, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync();
    }
}
