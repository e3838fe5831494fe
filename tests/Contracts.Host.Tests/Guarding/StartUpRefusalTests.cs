using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Setup;
using JasperFx.Events.Daemon;
using NodaTime.TimeZones;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Guarding;

/// <summary>What a store must not be worked with is refused at the start; each condition is really made to fail.</summary>
public sealed class StartUpRefusalTests(Server server)
{
    [Fact]
    public async Task A_database_that_acknowledges_before_it_has_written_is_refused()
    {
        var connection = await server.NewGuardedAsync();
        var name = new NpgsqlConnectionStringBuilder(connection.Owner).Database;
        await Server.RunAsync(connection.Owner!, $"alter database {name} set synchronous_commit = off");
        NpgsqlConnection.ClearAllPools();
        await RefusedAsync(() => OpenAsync(connection), "synchronous_commit = off");
    }

    [Theory]
    [InlineData("fsync")]
    [InlineData("full_page_writes")]
    public async Task A_server_that_may_lose_what_it_wrote_is_refused(string setting)
    {
        await using var own = await OwnServer.StartAsync();
        await using (await own.OpenAsync()) { }
        await own.SetAsync(setting, "off");
        await RefusedAsync(() => own.OpenAsync(), $"{setting} = off");
        await own.SetAsync(setting, "on");
        await using (await own.OpenAsync()) { }
    }

    [Fact]
    public async Task A_server_without_checksums_of_its_pages_is_refused_unless_a_setting_of_an_outside_one_says_otherwise()
    {
        await using var own = await OwnServer.StartAsync();
        await own.StopAsync();
        await own.ProgramAsync("pg_checksums", "--disable", "--pgdata", own.Cluster);
        await own.RestartAsync();
        await RefusedAsync(() => own.OpenAsync(), "no checksums");
        var named = own.Embedded.OwnerConnectionString;
        var refused = await Shell.ContractsWithAsync(named, "accounts");
        Assert.Equal(3, refused.Exit);
        Assert.Contains("no checksums", refused.Error, StringComparison.Ordinal);
        var allowed = await Shell.ContractsAsync(named, [("CONTRACTS_CHECKSUMS", "optional")], "accounts");
        Assert.Equal((0, "[]"), (allowed.Exit, allowed.Output.Trim()));
    }

    [Theory]
    [InlineData("grant update on contracts.mt_events to contracts_app")]
    [InlineData("grant update (data) on contracts.mt_events to contracts_app")]
    [InlineData("grant delete on contracts.mt_events to contracts_app")]
    [InlineData("grant truncate on contracts.mt_events to contracts_app")]
    [InlineData("grant trigger on contracts.mt_events to contracts_app")]
    [InlineData("grant update on contracts.mt_events to public")]
    public async Task An_app_role_that_could_change_history_is_refused_until_the_set_up_takes_it_away(string grant)
    {
        var connection = await server.NewGuardedAsync();
        await Server.RunAsync(connection.Owner!, grant);
        await RefusedAsync(() => OpenAsync(connection), "can change or delete events");
        await StoreSetup.RunAsync(connection.Owner!, alone: true);
        await using var store = await OpenAsync(connection);
        Assert.True(store.IsGuarded);
    }

    [Fact]
    public async Task An_app_role_that_is_or_may_become_something_stronger_is_refused()
    {
        await using var own = await OwnServer.StartAsync();
        await using (await own.OpenAsync()) { }
        foreach (var (spoil, repair) in new[]
        {
            ("alter role contracts_app superuser", "alter role contracts_app nosuperuser"),
            ("alter role contracts_app createrole", "alter role contracts_app nocreaterole"),
            ("grant contracts_owner to contracts_app", "revoke contracts_owner from contracts_app"),
            ("create role helper; grant delete on contracts.mt_events to helper; alter role contracts_app noinherit; grant helper to contracts_app",
                "revoke helper from contracts_app"),
        })
        {
            await Server.RunAsync(own.Embedded.OwnerConnectionString, spoil);
            await RefusedAsync(() => own.OpenAsync(), "can change or delete events");
            await Server.RunAsync(own.Embedded.OwnerConnectionString, repair);
            await using (await own.OpenAsync()) { }
        }
    }

    [Fact]
    public async Task Older_time_zone_rules_than_the_store_has_worked_with_are_refused_and_newer_ones_remembered()
    {
        var connection = await server.NewGuardedAsync();
        var own = TzdbDateTimeZoneSource.Default.TzdbVersion;
        Assert.Equal(own, await NewestAsync(connection));
        await Server.RunAsync(connection.Owner!, "delete from contracts.zone_data; insert into contracts.zone_data (version) values ('2013a')");
        await using (await OpenAsync(connection)) { }
        Assert.Equal(own, await NewestAsync(connection));
        await Server.RunAsync(connection.Owner!, "insert into contracts.zone_data (version) values ('2999a')");
        await RefusedAsync(() => OpenAsync(connection), "time zone rules 2999a");
    }

    public static TheoryData<string> Skips =>
        ["SkipApplyErrors", "SkipSerializationErrors", "SkipUnknownEvents", "Rebuild.SkipApplyErrors", "Rebuild.SkipSerializationErrors", "Rebuild.SkipUnknownEvents"];

    [Theory]
    [MemberData(nameof(Skips))]
    public async Task Marten_must_not_skip_an_event(string flag)
    {
        await using var source = StoreSource.Connect(server.Owner);
        var fault = Assert.Throws<StoreException>(() => MartenSetup.Build(source, options =>
        {
            var errors = flag.StartsWith("Rebuild.", StringComparison.Ordinal) ? options.Projections.RebuildErrors : options.Projections.Errors;
            typeof(ErrorHandlingOptions).GetProperty(flag[(flag.IndexOf('.', StringComparison.Ordinal) + 1)..])!.SetValue(errors, true);
        }));
        Assert.StartsWith("Marten would skip", fault.Message, StringComparison.Ordinal);
        MartenSetup.Build(source).Dispose();
    }

    [Fact]
    public async Task A_store_of_a_newer_program_and_one_that_nobody_set_up_are_refused_to_the_app()
    {
        var connection = await server.NewGuardedAsync();
        await Server.RunAsync(connection.Owner!, "insert into contracts.schema_version values (999)");
        await RefusedAsync(() => OpenAsync(connection), "schema version 999");
        var bare = server.As(DatabaseRoles.App, await server.NewBareDatabaseAsync());
        await RefusedAsync(() => OpenAsync(new StoreConnection(bare)), "contracts setup --database");
    }

    private static async Task<string> NewestAsync(StoreConnection connection)
    {
        await using var source = NpgsqlDataSource.Create(connection.Owner!);
        await using var command = source.CreateCommand("select max(version) from contracts.zone_data");
        return (string)(await command.ExecuteScalarAsync())!;
    }

    private static async Task<ContractsStore> OpenAsync(StoreConnection connection) =>
        await ContractsStore.OpenAsync(connection, new StoreSettings(Server.Zone, true));

    private static async Task RefusedAsync(Func<Task<ContractsStore>> open, string words)
    {
        var fault = await Assert.ThrowsAsync<StoreException>(open);
        Assert.Contains(words, fault.Message, StringComparison.Ordinal);
    }
}
