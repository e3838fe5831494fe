using Contracts.Agreements;
using Contracts.Host.Serving;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Setup;
using Marten;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Guarding;

/// <summary>Each role really logs in and really tries what it must not be able to do.</summary>
public sealed class RoleAttemptTests(Server server)
{
    private const string Digest = "select md5(string_agg(e::text, '|' order by seq_id)) || (select md5(string_agg(s::text, '|' order by id)) from contracts.mt_streams s) from contracts.mt_events e";

    public static TheoryData<string> ForTheApp =>
    [
        "update contracts.mt_events set data = '{}'",
        "update contracts.mt_events set is_archived = true",
        "delete from contracts.mt_events",
        "truncate contracts.mt_events",
        "insert into contracts.mt_events (seq_id, id, stream_id, version, data, type, timestamp) select seq_id, id, stream_id, version, data, type, timestamp from contracts.mt_events on conflict (seq_id) do update set data = '{}'",
        "select 1 from contracts.mt_events for update",
        "begin; lock table contracts.mt_events in access exclusive mode",
        "copy contracts.mt_events (seq_id, id) from program 'true'",
        "update contracts.mt_streams set is_archived = true",
        "delete from contracts.mt_streams",
        "select contracts.mt_archive_stream('C-1')",
        "update contracts.command_keys set outcome = null",
        "delete from contracts.command_keys",
        "update contracts.posting_sets set cents = null",
        "delete from contracts.posting_sets",
        "delete from contracts.periods",
        "update contracts.zone_data set version = '1999a'",
        "delete from contracts.zone_data",
        "insert into contracts.schema_version values (99)",
        "update access.keys set expires_at = now()",
        "delete from access.keys",
        "delete from access.revocations",
        "update access.readings set purpose = 'another'",
        "delete from access.readings",
        "alter table contracts.mt_events add column more text",
        "alter table contracts.mt_events disable trigger all",
        "alter table contracts.mt_events owner to contracts_app",
        "create trigger bad before insert on contracts.mt_events for each row execute function suppress_redundant_updates_trigger()",
        "create rule bad as on insert to contracts.mt_events do instead nothing",
        "create index bad on contracts.mt_events (data)",
        "drop table contracts.mt_events cascade",
        "comment on table contracts.mt_events is 'changed'",
        "set role contracts_owner",
        "set session authorization postgres",
        "set session_replication_role = replica",
        "grant contracts_owner to contracts_app",
        "alter role contracts_app superuser",
        "create role another",
        "alter system set fsync = off",
        "alter database postgres set timezone = 'Asia/Kolkata'",
        "copy (select 1) to program 'true'",
        "copy contracts.zone_data from '/etc/passwd'",
        "copy (select 1) to '/tmp/contracts-never'",
        "select pg_read_file('/etc/passwd')",
        "select lo_import('/etc/passwd')",
        "create function contracts.bad() returns int language sql as 'select 1'",
        "create function public.bad() returns int language sql as 'select 1'",
        "create function pg_temp.bad() returns int language sql as 'select 1'",
        "create or replace function contracts.mt_archive_stream(streamid varchar) returns void language sql as 'select null'",
        "create temp table bad (id int)",
        "create schema bad",
        "create extension file_fdw",
        "do 'begin execute ''delete from contracts.mt_events''; end'",
        "create table audit.bad (id int)",
        "insert into audit.probe values (2)",
        "delete from audit.probe",
        "select * from vault.probe",
        "create table messages.bad (id int)",
    ];

    [Theory]
    [MemberData(nameof(ForTheApp))]
    public async Task The_app_cannot(string attempt)
    {
        var connection = await SharedAsync();
        var before = await ScalarAsync(connection.Owner!, Digest);
        await RefusedAsync(connection.Everyday, attempt);
        Assert.Equal(before, await ScalarAsync(connection.Owner!, Digest));
    }

    [Fact]
    public async Task What_the_app_gives_itself_it_does_not_get()
    {
        // PostgreSQL only warns here, so the effect is looked at.
        var connection = await SharedAsync();
        await Server.RunAsync(connection.Everyday, "grant update, delete on contracts.mt_events to contracts_app");
        Assert.Equal(false, await ScalarAsync(connection.Everyday, "select has_table_privilege('contracts.mt_events', 'UPDATE, DELETE')"));
    }

    [Theory]
    [InlineData(DatabaseRoles.Sealer, "insert into contracts.mt_events select * from contracts.mt_events")]
    [InlineData(DatabaseRoles.Sealer, "update contracts.mt_events set data = '{}'")]
    [InlineData(DatabaseRoles.Sealer, "select * from contracts.command_keys")]
    [InlineData(DatabaseRoles.Sealer, "update audit.probe set id = 3")]
    [InlineData(DatabaseRoles.Sealer, "delete from audit.probe")]
    [InlineData(DatabaseRoles.Sealer, "truncate audit.probe")]
    [InlineData(DatabaseRoles.Sealer, "select * from vault.probe")]
    [InlineData(DatabaseRoles.Sealer, "select setval('contracts.mt_events_sequence', 1)")]
    [InlineData(DatabaseRoles.Read, "insert into contracts.zone_data (version) values ('2999a')")]
    [InlineData(DatabaseRoles.Read, "update contracts.clock set last = now()")]
    [InlineData(DatabaseRoles.Read, "delete from contracts.placements")]
    [InlineData(DatabaseRoles.Read, "insert into audit.probe values (4)")]
    [InlineData(DatabaseRoles.Read, "select * from vault.probe")]
    [InlineData(DatabaseRoles.Read, "select nextval('contracts.mt_events_sequence')")]
    [InlineData(DatabaseRoles.Personal, "select * from contracts.mt_events")]
    [InlineData(DatabaseRoles.Personal, "select * from audit.probe")]
    [InlineData(DatabaseRoles.Personal, "update vault.probe set id = 3")]
    [InlineData(DatabaseRoles.Personal, "truncate vault.probe")]
    [InlineData(DatabaseRoles.Personal, "create table vault.bad (id int)")]
    public async Task The_others_cannot(string role, string attempt) =>
        await RefusedAsync(server.As(role, (await SharedAsync()).Everyday), attempt);

    [Fact]
    public async Task Each_can_do_its_own_work_and_nobody_logs_in_as_the_owner()
    {
        var connection = await SharedAsync();
        var sealer = server.As(DatabaseRoles.Sealer, connection.Everyday);
        await Server.RunAsync(sealer, "insert into audit.probe select max(seq_id) from contracts.mt_events");
        Assert.True((long)(await ScalarAsync(sealer, "select count(*) from audit.probe"))! > 0);
        var reader = server.As(DatabaseRoles.Read, connection.Everyday);
        Assert.Equal(2L, await ScalarAsync(reader, "select count(*) from contracts.mt_events"));
        Assert.True((long)(await ScalarAsync(reader, "select count(*) from contracts.postings"))! > 0);
        var vault = server.As(DatabaseRoles.Personal, connection.Everyday);
        await Server.RunAsync(vault, "insert into vault.probe values (7); delete from vault.probe where id = 7");
        var owner = new NpgsqlConnectionStringBuilder(connection.Everyday) { Username = DatabaseRoles.Owner, Pooling = false }.ConnectionString;
        var fault = await Assert.ThrowsAsync<PostgresException>(() => Server.RunAsync(owner, "select 1"));
        Assert.StartsWith("28", fault.SqlState, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Martens_ways_to_change_history_fail_for_the_app()
    {
        var connection = await server.NewGuardedAsync();
        await using (var store = await ContractsStore.OpenAsync(connection, new StoreSettings(Server.Zone, true)))
        {
            await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        }

        var before = await ScalarAsync(connection.Owner!, Digest);
        await using var source = StoreSource.Connect(connection.Everyday);
        using var marten = MartenSetup.Build(source, options =>
            options.Events.AddMaskingRuleForProtectedInformation<ContractEvent.Signed>(signed => signed with { Household = "masked" }));
        foreach (var (name, change) in Changes(marten))
        {
            var fault = await Assert.ThrowsAnyAsync<Exception>(change);
            Assert.True(Reasons(fault).Any(reason => reason.SqlState == PostgresErrorCodes.InsufficientPrivilege), $"{name}: {fault}");
            Assert.Equal(before, await ScalarAsync(connection.Owner!, Digest));
        }
    }

    private static IEnumerable<(string, Func<Task>)> Changes(DocumentStore marten)
    {
        yield return ("archive", () => InSessionAsync(marten, async session => session.Events.ArchiveStream("C-1")));
        yield return ("mask", () => marten.Advanced.ApplyEventDataMasking(masking => masking.IncludeStream("C-1")));
        yield return ("overwrite", () => InSessionAsync(marten, async session =>
            session.Events.OverwriteEvent((await session.Events.FetchStreamAsync("C-1"))[0])));
        yield return ("replace", () => InSessionAsync(marten, async session =>
            session.Events.CompletelyReplaceEvent(2, new LawPackAdopted("OR", 9, "", null, "changed"))));
        yield return ("compact", () => InSessionAsync(marten, session => session.Events.CompactStreamAsync<Counted>("C-1")));
        yield return ("clean", () => marten.Advanced.Clean.DeleteAllEventDataAsync());
        yield return ("remove", () => marten.Advanced.Clean.CompletelyRemoveAllAsync());
    }

    private static async Task InSessionAsync(DocumentStore marten, Func<IDocumentSession, Task> work)
    {
        await using var session = marten.LightweightSession();
        await work(session);
        await session.SaveChangesAsync();
    }

    private static IEnumerable<PostgresException> Reasons(Exception? fault)
    {
        for (; fault is not null; fault = fault.InnerException)
        {
            if (fault is PostgresException reason) { yield return reason; }
            if (fault is AggregateException many)
            {
                foreach (var reason1 in many.InnerExceptions.SelectMany(Reasons)) { yield return reason1; }
            }
        }
    }

    private static async Task RefusedAsync(string connection, string attempt)
    {
        var fault = await Assert.ThrowsAsync<PostgresException>(() => Server.RunAsync(connection, attempt));
        Assert.Equal(PostgresErrorCodes.InsufficientPrivilege, fault.SqlState);
    }

    private static async Task<object?> ScalarAsync(string connection, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync();
    }

    private static Task<StoreConnection>? shared;
    private static readonly Lock Making = new();

    /// <summary>One store for all attempts, since none of them may change it.</summary>
    private Task<StoreConnection> SharedAsync()
    {
        lock (Making) { return shared ??= MakeAsync(); }
    }

    private async Task<StoreConnection> MakeAsync()
    {
        var connection = await server.NewGuardedAsync();
        await MessageTables.MakeAsync(connection.Owner!, CancellationToken.None);
        await Server.RunAsync(connection.Owner!, "create table audit.probe (id bigint); create table vault.probe (id bigint)");
        await using var store = await ContractsStore.OpenAsync(connection, new StoreSettings(Server.Zone, true));
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        return connection;
    }
}

/// <summary>An aggregate for the attempt to compact a stream.</summary>
public sealed class Counted
{
    /// <summary>The stream.</summary>
    public string Id { get; set; } = "";

    /// <summary>How many signings were seen.</summary>
    public int Signings { get; set; }

    /// <summary>Counts one.</summary>
    public void Apply(ContractEvent.Signed signed) => Signings += signed is null ? 0 : 1;
}
