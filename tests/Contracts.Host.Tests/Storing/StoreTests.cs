using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using NodaTime;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>What the store promises, tried on a real PostgreSQL.</summary>
public sealed class StoreTests(Server server)
{
    [Fact]
    public async Task A_repeated_key_gets_the_first_answer_and_changes_nothing()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        var first = await store.ApplyAsync(Lines.Pay("C-1", "p", "21.60", "2026-09-02T12:00:00Z"));
        var again = await store.ApplyAsync(Lines.Pay("C-1", "p", "999.00", "2026-09-03T12:00:00Z"));
        var applied = Assert.IsType<CommandResult.Applied>(first[0]);
        var already = Assert.IsType<CommandResult.Already>(again[0]);
        Assert.Equal(applied.RecordedAt, already.RecordedAt);
        Assert.Equal(new Money(2000), (await AccountAsync(store, "C-1", new LocalDate(2026, 9, 30))).Equity);
    }

    [Fact]
    public async Task Of_two_writers_for_one_instrument_one_is_refused_and_a_return_frees_it()
    {
        await using var store = await server.NewStoreAsync(simulated: false);
        await store.ApplyAsync(Lines.Tax);
        var at = Today(store);
        var answers = await Task.WhenAll(Enumerable.Range(0, 12).Select(writer =>
            store.ApplyAsync(Lines.Sign($"C-{writer}", "S-1", at: at))));
        Assert.Single(answers, answer => answer[0] is CommandResult.Applied);
        Assert.All(
            answers.Select(answer => answer[0]).OfType<CommandResult.Refused>(),
            refused => Assert.Equal(RefusalCode.InstrumentOnOpenContract, refused.Refusal.Code));
        var winner = Enumerable.Range(0, 12).First(writer => answers[writer][0] is CommandResult.Applied);
        await store.ApplyAsync($$"""{"do":"return","key":"r","contract":"C-{{winner}}","on":"{{at[..10]}}"}""");
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Lines.Sign("C-99", "S-1", at: at)))[0]);
    }

    [Fact]
    public async Task Two_stores_on_one_contract_both_count_and_versions_have_no_gap()
    {
        var database = await server.NewDatabaseAsync();
        await using var one = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, false));
        await using var two = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, false));
        await one.ApplyAsync(Lines.Tax);
        var at = Today(one);
        await one.ApplyAsync(Lines.Sign("C-1", "S-1", at: at));
        await Task.WhenAll(Enumerable.Range(0, 40).Select(payment =>
            (payment % 2 == 0 ? one : two).ApplyAsync(Lines.Pay("C-1", $"p{payment}", "1.00", at))));
        var account = await AccountAsync(two, "C-1", LocalDate.FromDateTime(DateTime.UtcNow).PlusDays(1));
        Assert.Equal(new Money(4000), account.Paid.Total + account.UnappliedCredit);
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand(
            "select max(version) = count(*) and bool_and(timestamp is not null) from contracts.mt_events where stream_id = 'C-1'");
        Assert.True((bool)(await command.ExecuteScalarAsync())!);
    }

    [Fact]
    public async Task Recorded_time_is_the_databases_and_never_decreases_even_where_its_zone_is_not_utc()
    {
        var database = await server.NewBareDatabaseAsync(zone: "America/Chicago");
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, false));
        await store.ApplyAsync(Lines.Tax);
        var at = Today(store);
        await store.ApplyAsync(Lines.Sign("C-1", "S-1", at: at));
        for (var payment = 0; payment < 5; payment++) { await store.ApplyAsync(Lines.Pay("C-1", $"p{payment}", "1.00", at)); }
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand("""
            select bool_and(abs(extract(epoch from clock_timestamp() - timestamp)) < 60)
               and bool_and(before is null or before <= timestamp)
            from (select timestamp, lag(timestamp) over (order by seq_id) as before from contracts.mt_events) e
            """);
        Assert.True((bool)(await command.ExecuteScalarAsync())!);
    }

    [Fact]
    public async Task A_session_that_is_not_in_utc_is_refused()
    {
        await using var source = new NpgsqlDataSourceBuilder(await server.NewBareDatabaseAsync(zone: "Asia/Kolkata")).Build();
        await using var connection = await source.OpenConnectionAsync();
        var fault = Assert.Throws<StoreException>(() => SessionZone.RequireUtc(connection));
        Assert.Contains("must be UTC", fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_simulated_clock_takes_its_moments_from_the_lines_and_never_goes_back()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        var results = await store.ApplyAsync(
            Lines.Pay("C-1", "late", "21.60", "2026-09-20T12:00:00Z", on: "2026-09-05"),
            Lines.Pay("C-1", "back", "20.00", "2026-09-19T12:00:00Z"));
        Assert.Equal(Instant.FromUtc(2026, 9, 20, 12, 0), Assert.IsType<CommandResult.Applied>(results[0]).RecordedAt);
        Assert.Equal(RefusalCode.AtGoesBack, Assert.IsType<CommandResult.Refused>(results[1]).Refusal.Code);
        var missing = await store.Pipeline.ApplyAsync([Lines.Request(Lines.Pay("C-1", "none", "1.00", "2026-09-21T12:00:00Z"), simulated: false)]);
        Assert.Equal(RefusalCode.AtMissing, Assert.IsType<CommandResult.Refused>(missing[0]).Refusal.Code);
        var day = new LocalDate(2026, 9, 10);
        Assert.Equal(new Money(2660), (await AccountAsync(store, "C-1", day, Instant.FromUtc(2026, 9, 19, 12, 0))).PastDue);
        Assert.Equal(Money.Zero, (await AccountAsync(store, "C-1", day)).PastDue);
    }

    [Fact]
    public async Task A_real_clock_refuses_a_recording_moment_from_outside()
    {
        await using var store = await server.NewStoreAsync(simulated: false);
        var results = await store.Pipeline.ApplyAsync([Lines.Request(Lines.Tax)]);
        Assert.Equal(RefusalCode.ClockNotSimulated, Assert.IsType<CommandResult.Refused>(results[0]).Refusal.Code);
    }

    [Fact]
    public async Task Events_carry_their_frozen_names_and_who_why_and_which_command()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"),
            """{"do":"credit","key":"k","at":"2026-09-02T12:00:00Z","contract":"C-1","on":"2026-09-02","amount":"5.00","by":"Ada","reason":"goodwill"}""");
        var entry = (await store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries[^1];
        Assert.Equal(("k", "Ada", "goodwill"), (entry.Key, entry.Actor, entry.Reason));
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand("select string_agg(type, ',' order by seq_id) from contracts.mt_events");
        Assert.Equal("tax_rate_set,signed,credit_given", await command.ExecuteScalarAsync());
    }

    [Fact]
    public async Task A_rebuilt_read_model_is_the_live_one_and_a_planted_fault_is_found()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"), Lines.Sign("C-2", "S-2"));
        Assert.Empty(await store.Placements.DifferencesAsync());
        await Server.RunAsync(database, "update contracts.placements set contract = 'C-9' where serial = 'S-2'");
        Assert.Equal(2, (await store.Placements.RebuildAsync()).Count);
        Assert.Empty(await store.Placements.DifferencesAsync());
    }

    private static string Today(ContractsStore store) =>
        NodaTime.Text.InstantPattern.General.Format(SystemClock.Instance.GetCurrentInstant().InZone(store.Settings.Zone).Date.AtMidnight().InUtc().ToInstant());

    private static async Task<Account> AccountAsync(ContractsStore store, string contract, LocalDate on, Instant? known = null)
    {
        var moment = known ?? await store.Reader.NowAsync();
        var history = await store.Reader.HistoryAsync(contract, moment);
        return Account.Of(AccountFold.At(history!, await store.Reader.RatesAsync(moment), on)!, moment);
    }
}
