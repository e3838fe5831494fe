using System.Text;
using Contracts.Agreements;
using Contracts.Host.Tests.Support;
using Contracts.Seals;
using Contracts.Store;
using Contracts.Store.Vault;
using NodaTime;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Households;

/// <summary>Personal data in the vault: sealed, read on the record, destroyed for good, and never in the history.</summary>
public sealed class VaultTests(Server server) : IDisposable
{
    private const string Told =
        """{"do":"describe-household","key":"tell","at":"2026-09-01T12:00:00Z","household":"H","facts":{"name":"Ines Varga-Canary","address":"12 Canary Lane, Wexmoor"},"students":[{"name":"Pia Canary","school":"Mill School"}]}""";

    private static readonly CancellationToken None = CancellationToken.None;

    private readonly string folder = Directory.CreateTempSubdirectory("contracts-keys-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task What_was_told_is_shown_for_a_purpose_and_students_only_where_asked_for()
    {
        await using var store = await OpenAsync(await server.NewDatabaseAsync());
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Told))[0]);
        var view = await ReadAsync(store, students: false);
        Assert.Equal(["address=12 Canary Lane, Wexmoor", "name=Ines Varga-Canary"], view!.Facts.Select(fact => $"{fact.Name}={fact.Value}"));
        Assert.Equal((2, 0), (view.Hidden, view.Unreadable));
        Assert.Equal(4, (await ReadAsync(store, students: true))!.Facts.Count);
        var readings = await store.Households.ReadingsAsync("H", None);
        Assert.Equal([("ada", "a label", false), ("ada", "a label", true)], readings.Select(reading => (reading.By, reading.Purpose, reading.Students)));
        Assert.Null(await store.Households.ReadAsync("H-2", "ada", "x", false, Instant.MaxValue, None));
    }

    [Fact]
    public async Task Everyday_work_cannot_read_the_vault_and_the_vaults_role_reads_nothing_else()
    {
        var connection = await server.NewGuardedAsync();
        await using var store = await ContractsStore.OpenAsync(connection, new StoreSettings(Server.Zone, true, null, new HouseholdKeys(folder)));
        Assert.True(store.IsGuarded);
        await store.ApplyAsync(Told);
        Assert.Equal(4, (await ReadAsync(store, students: true))!.Facts.Count);
        await RefusedAsync(connection.Everyday, "select * from vault.facts");
        await RefusedAsync(connection.Everyday, "select * from vault.readings");
        await RefusedAsync(connection.Personal!, "select * from contracts.mt_events");
        await RefusedAsync(connection.Personal!, "delete from vault.readings");
        await RefusedAsync(connection.Personal!, "update vault.facts set sealed = ''");
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Erase("2026-10-01T12:00:00Z")))[0]);
        Assert.Empty((await store.VaultAudit.RunAsync(None)).Differences);

        static async Task RefusedAsync(string role, string sql) =>
            Assert.Equal(PostgresErrorCodes.InsufficientPrivilege, (await Assert.ThrowsAsync<PostgresException>(() => Server.RunAsync(role, sql))).SqlState);
    }

    [Fact]
    public async Task Both_dates_hold_for_facts_too_and_each_opens_the_digest_of_its_event()
    {
        await using var store = await OpenAsync(await server.NewDatabaseAsync());
        await store.ApplyAsync(Told, """{"do":"describe-household","key":"again","at":"2026-10-01T12:00:00Z","household":"H","facts":{"name":"Ines Varga","address":"3 Quay Street"}}""");
        Assert.Equal("3 Quay Street", (await ReadAsync(store, false))!.Facts[0].Value);
        var then = await store.Households.ReadAsync("H", "ada", "a dispute", true, Instant.FromUtc(2026, 9, 15, 0, 0), None);
        Assert.Equal("12 Canary Lane, Wexmoor", then!.Facts[0].Value);
        Assert.All(then.Facts, fact => Assert.Equal(fact.Digest, SaltedDisclosure.DigestOf(fact.Text)));
    }

    [Fact]
    public async Task No_table_outside_the_vault_and_no_vault_without_its_keys_tells_anything()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await OpenAsync(database);
        await store.ApplyAsync(Told);
        Assert.Equal(0, await CanariesAsync(database));
        foreach (var key in Directory.GetFiles(folder)) { File.Delete(key); }
        var view = await ReadAsync(store, students: true);
        Assert.Equal((0, 4), (view!.Facts.Count, view.Unreadable));
    }

    [Fact]
    public async Task A_repeated_or_refused_description_leaves_nothing_behind()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await OpenAsync(database);
        await store.ApplyAsync(Told);
        Assert.IsType<CommandResult.Already>((await store.ApplyAsync(Told))[0]);
        Assert.Equal(4L, await ScalarAsync(database, "select count(*) from vault.facts"));
        await store.ApplyAsync(Erase("2026-10-01T12:00:00Z"));
        var refused = (await store.ApplyAsync(Told.Replace("\"tell\"", "\"late\"", StringComparison.Ordinal).Replace("2026-09", "2026-11", StringComparison.Ordinal)))[0];
        Assert.Equal(RefusalCode.HouseholdErased, Assert.IsType<CommandResult.Refused>(refused).Refusal.Code);
        Assert.Equal(0L, await ScalarAsync(database, "select count(*) from vault.facts"));
    }

    [Fact]
    public async Task An_erasure_destroys_key_and_rows_and_leaves_the_history_as_it_is()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await OpenAsync(database);
        await store.ApplyAsync(Told);
        var before = await ScalarAsync(database, "select data::text from contracts.mt_events where type = 'household_described'");
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Erase("2026-10-01T12:00:00Z")))[0]);
        Assert.Equal(before, await ScalarAsync(database, "select data::text from contracts.mt_events where type = 'household_described'"));
        Assert.Equal(0L, await ScalarAsync(database, "select count(*) from vault.facts"));
        Assert.Empty(Directory.GetFiles(folder));
        var view = await ReadAsync(store, true);
        Assert.Equal((0, true), (view!.Facts.Count, view.ErasedAt is not null));
        Assert.Empty((await store.VaultAudit.RunAsync(None)).Differences);
    }

    [Fact]
    public async Task A_household_with_a_contract_is_kept()
    {
        await using var store = await OpenAsync(await server.NewDatabaseAsync());
        await store.ApplyAsync(Lines.Tax, Told, Lines.Sign("C-1", "S-1"));
        var refusal = Assert.IsType<CommandResult.Refused>((await store.ApplyAsync(Erase("2026-10-01T12:00:00Z")))[0]).Refusal;
        Assert.Equal(RefusalCode.HouseholdInUse, refusal.Code);
        Assert.Contains("C-1", refusal.Detail, StringComparison.Ordinal);
        Assert.Equal(2, (await ReadAsync(store, false))!.Facts.Count);
    }

    [Fact]
    public async Task A_contract_that_ended_keeps_its_household_for_the_years_of_the_records()
    {
        await using var store = await OpenAsync(await server.NewDatabaseAsync());
        await store.ApplyAsync(
            Lines.Tax, Told, Lines.Sign("C-1", "S-1"),
            Lines.Pay("C-1", "p", "21.60", "2026-09-02T12:00:00Z"),
            """{"do":"return","key":"r","at":"2026-09-03T12:00:00Z","contract":"C-1","on":"2026-09-03"}""");
        var refusal = Assert.IsType<CommandResult.Refused>((await store.ApplyAsync(Erase("2026-10-01T12:00:00Z")))[0]).Refusal;
        Assert.Equal((RefusalCode.HouseholdRetained, "2033-09-04"), (refusal.Code, refusal.RightFigure));
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Erase("2033-09-04T12:00:00Z")))[0]);
    }

    [Fact]
    public async Task The_audit_names_what_is_missing_moved_left_over_or_not_destroyed()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await OpenAsync(database);
        await store.ApplyAsync(Told, Told.Replace("\"H\"", "\"H-2\"", StringComparison.Ordinal).Replace("\"tell\"", "\"tell-2\"", StringComparison.Ordinal));
        Assert.Equal((8L, 0), (await store.VaultAudit.RunAsync(None)) is var (facts, none) ? (facts, none.Count) : default);
        await AssertFaultAsync("fact-missing", "delete from vault.facts where digest = (select min(digest) from vault.facts where household = 'H')");
        await AssertFaultAsync("fact-unreadable", "update vault.facts set sealed = set_byte(sealed, 20, get_byte(sealed, 20) # 1) where household = 'H'");
        await AssertFaultAsync(
            "fact-unreadable",
            "update vault.facts f set sealed = (select sealed from vault.facts g where g.household = f.household and g.digest <> f.digest limit 1) where household = 'H'");
        await AssertFaultAsync("fact-left-over", "insert into vault.facts (digest, household, sealed) values ('x', 'H', '\\x00')");
        await store.ApplyAsync(Erase("2026-10-01T12:00:00Z"));
        new HouseholdKeys(folder).FindOrMake("H");
        Assert.Contains((await store.VaultAudit.RunAsync(None)).Differences, difference => difference is { Kind: "erasure-unfinished", Household: "H" });
        // The same erasure given again finishes it.
        Assert.IsType<CommandResult.Already>((await store.ApplyAsync(Erase("2026-10-01T12:00:00Z")))[0]);
        Assert.DoesNotContain((await store.VaultAudit.RunAsync(None)).Differences, difference => difference.Kind == "erasure-unfinished");

        async Task AssertFaultAsync(string kind, string damage)
        {
            await Server.RunAsync(database, $"create table if not exists vault.keep as select * from vault.facts; {damage}");
            Assert.Contains((await store.VaultAudit.RunAsync(None)).Differences, difference => difference.Kind == kind && difference.Household == "H");
            await Server.RunAsync(database, "delete from vault.facts; insert into vault.facts select * from vault.keep; drop table vault.keep");
        }
    }

    [Fact]
    public async Task Without_keys_nothing_is_recorded()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        await Assert.ThrowsAsync<StoreException>(() => store.ApplyAsync(Told));
        await Assert.ThrowsAsync<StoreException>(() => store.ApplyAsync(Erase("2026-10-01T12:00:00Z")));
        Assert.Equal(0L, await ScalarAsync(database, "select count(*) from contracts.mt_events"));
    }

    private static string Erase(string at) =>
        $$"""{"do":"erase-household","key":"erase","at":"{{at}}","by":"ada","reason":"asked by the family","household":"H"}""";

    private async Task<ContractsStore> OpenAsync(string database) =>
        await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true, null, new HouseholdKeys(folder)));

    private static Task<HouseholdView?> ReadAsync(ContractsStore store, bool students) =>
        store.Households.ReadAsync("H", "ada", "a label", students, Instant.MaxValue, None);

    /// <summary>How many columns of any table hold a word that was told in confidence.</summary>
    private static async Task<long> CanariesAsync(string database)
    {
        var found = 0L;
        await using var source = NpgsqlDataSource.Create(database);
        var tables = new List<string>();
        await using (var command = source.CreateCommand("select format('%I.%I', schemaname, tablename) from pg_tables where schemaname in ('contracts', 'vault', 'audit')"))
        await using (var reader = await command.ExecuteReaderAsync())
        {
            while (await reader.ReadAsync()) { tables.Add(reader.GetString(0)); }
        }

        foreach (var table in tables)
        {
            found += (long)(await ScalarAsync(database, $"select count(*) from {table} t where t::text ilike '%canary%' or t::text ilike '%{Convert.ToHexStringLower(Encoding.ASCII.GetBytes("Canary"))}%'"))!;
        }

        return found;
    }

    private static async Task<object?> ScalarAsync(string database, string sql)
    {
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync();
    }
}
