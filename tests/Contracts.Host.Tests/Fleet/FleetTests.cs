using System.Net;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Fleet;

/// <summary>Units on a real PostgreSQL: the rule under two writers, and the same answers on the command line, over HTTP and on pages.</summary>
public sealed class FleetTests(Server server)
{
    [Fact]
    public async Task A_unit_goes_out_once_however_many_reach_for_it_and_not_again_before_it_is_looked_over()
    {
        await using var store = await server.NewStoreAsync(simulated: false);
        var at = Today();
        await store.ApplyAsync(Lines.Tax, UnitLines.Acquire("U-1", at), UnitLines.Inspect("U-1", at));
        await using var other = await ContractsStore.OpenAsync(store.Connection.Everyday, new StoreSettings(Server.Zone, false, null, server.Keys));
        var answers = await Task.WhenAll(Enumerable.Range(0, 10).Select(writer => (writer % 2 == 0 ? store : other).ApplyAsync(Lines.Sign($"C-{writer}", "U-1", at: at))));
        var winner = Assert.Single(Enumerable.Range(0, 10), writer => answers[writer][0] is CommandResult.Applied);
        Assert.All(answers.Select(answer => answer[0]).OfType<CommandResult.Refused>(), refused => Assert.Equal(RefusalCode.InstrumentOnOpenContract, refused.Refusal.Code));
        await store.ApplyAsync($$"""{"do":"return","key":"r","contract":"C-{{winner}}","on":"{{at[..10]}}"}""");
        Assert.Equal(RefusalCode.UnitNotInspected, Code(await other.ApplyAsync(Lines.Sign("C-88", "U-1", at: at))));
        await other.ApplyAsync(UnitLines.Inspect("U-1", at).Replace("\"key\":\"", "\"key\":\"again-", StringComparison.Ordinal));
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Lines.Sign("C-99", "U-1", at: at)))[0]);
    }

    [Fact]
    public async Task Of_an_inspection_that_fails_and_a_signing_at_once_one_comes_first_and_the_other_sees_it()
    {
        await using var store = await server.NewStoreAsync(simulated: false);
        await using var other = await ContractsStore.OpenAsync(store.Connection.Everyday, new StoreSettings(Server.Zone, false, null, server.Keys));
        var at = Today();
        await store.ApplyAsync(Lines.Tax);
        for (var round = 0; round < 8; round++)
        {
            var unit = $"U-{round}";
            await store.ApplyAsync(UnitLines.Acquire(unit, at), UnitLines.Inspect(unit, at));
            var fails = UnitLines.Inspect(unit, at, "pads").Replace("\"key\":\"", "\"key\":\"fails-", StringComparison.Ordinal);
            var both = await Task.WhenAll(store.ApplyAsync(Lines.Sign($"C-{round}", unit, at: at)), other.ApplyAsync(fails));
            Assert.IsType<CommandResult.Applied>(both[1][0]);
            var life = (await store.Units.FindAsync(unit, Day(at), await store.Reader.NowAsync()))!;
            // Taken: the failed inspection was recorded after it. Not taken: before it.
            var taken = life.Facts.Single(fact => fact.Event is Contracts.Instruments.UnitEvent.Inspected { Passed: false }).Sequence;
            if (both[0][0] is CommandResult.Refused refused) { Assert.Equal(RefusalCode.UnitNotInspected, refused.Refusal.Code); }
            else { Assert.True(life.Facts.Single(fact => fact.Event is Contracts.Instruments.UnitEvent.Placed).Sequence < taken); }
        }
    }

    [Fact]
    public async Task A_unit_that_is_due_back_when_it_is_acquired_is_held_to_what_its_contract_says_of_it_later()
    {
        await using var store = await server.NewStoreAsync();
        const string Later = "2026-09-10T12:00:00Z";
        Assert.All(
            await store.ApplyAsync(
                Lines.Tax, Lines.Sign("C-1", "U-1"),
                """{"do":"swap","key":"sw","at":"2026-09-02T12:00:00Z","contract":"C-1","on":"2026-09-02","serial":"U-2","returnBy":"2026-09-20"}""",
                UnitLines.Acquire("U-1", "2026-09-03T12:00:00Z")),
            result => Assert.IsType<CommandResult.Applied>(result));
        // The family still has it: it is not the store's to hand out, to sell or to call ready.
        Assert.Equal(RefusalCode.UnitStatusForbids, Code(await store.ApplyAsync("""{"do":"sell-unit","key":"sell","at":"2026-09-03T12:00:00Z","serial":"U-1","on":"2026-09-03","price":"90.00"}""")));
        await store.ApplyAsync(UnitLines.Inspect("U-1", "2026-09-04T12:00:00Z"));
        await store.ApplyAsync("""{"do":"receive-unit","key":"back","at":"2026-09-05T12:00:00Z","contract":"C-1","on":"2026-09-05","serial":"U-1"}""");
        Assert.Equal(RefusalCode.UnitNotInspected, Code(await store.ApplyAsync(Lines.Sign("C-2", "U-1", at: Later))));
        var life = (await store.Units.FindAsync("U-1", new LocalDate(2026, 9, 10), await store.Reader.NowAsync()))!;
        Assert.Equal("to-inspect", life.State.StatusWord);
        await store.ApplyAsync(UnitLines.Inspect("U-1", Later).Replace("\"key\":\"", "\"key\":\"again-", StringComparison.Ordinal));
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Lines.Sign("C-2", "U-1", at: Later)))[0]);
    }

    [Fact]
    public async Task A_batch_is_decided_line_by_line_and_a_refused_line_leaves_nothing_behind()
    {
        await using var store = await server.NewStoreAsync();
        var results = await store.ApplyAsync(
            Lines.Tax, UnitLines.Acquire("U-1"), Lines.Sign("C-1", "U-1"), UnitLines.Inspect("U-1", "2026-09-01T12:00:00Z"), Lines.Sign("C-1", "U-1"),
            """{"do":"return","key":"r","at":"2026-09-05T12:00:00Z","contract":"C-1","on":"2026-09-05"}""", Lines.Sign("C-2", "U-1", at: "2026-09-05T12:00:00Z"));
        Assert.Equal(
            [null, null, RefusalCode.UnitNotInspected, null, null, null, RefusalCode.UnitNotInspected], results.Select(result => (result as CommandResult.Refused)?.Refusal.Code));
        Assert.Empty(await store.Placements.DifferencesAsync());
        var unit = Assert.Single(await store.Units.KeptAsync(await store.Reader.NowAsync()));
        Assert.Equal(["C-1"], unit.Contracts);
        Assert.Equal(3, unit.Entries.Length);
    }

    [Fact]
    public async Task The_same_unit_is_told_on_the_command_line_over_http_and_on_a_page()
    {
        await using var running = await YearAsync();
        foreach (var path in new[] { "U-1?on=2026-10-20&known=2026-10-20", "U-1?on=2026-09-15&known=2026-09-16", "U-2?on=2026-10-20&known=2026-10-20", "S-9?on=2026-10-20&known=2026-10-20" })
        {
            var (serial, on, known) = (path[..3], path[7..17], path[^10..]);
            var api = await running.GetAsync("support", $"/v1/units/{path}");
            var shell = await Shell.ContractsWithAsync(running.Database, "unit", serial, "--on", on, "--known", known, "--format", "json");
            Assert.Equal((0, api.Text), (shell.Exit, shell.Output));
            var unit = JsonNode.Parse(api.Text)!;
            var page = (await running.GetAsync("support", $"/unit/{path}")).Text;
            Assert.Contains($"<dt>rent paid</dt><dd>${(string)unit["earned"]!["rent"]!}</dd>", page, StringComparison.Ordinal);
            Assert.Contains($"<span class=\"status\">{(string)unit["status"]!}</span>", page, StringComparison.Ordinal);
            Assert.All(unit["uses"]!.AsArray(), use => Assert.Contains($"href=\"/account/{(string)use!["contract"]!}\"", page, StringComparison.Ordinal));
        }

        // The dented one: bought for 210.00, rented for 20.00 and 30.00, swapped and back, at the bench for 35.00.
        var dented = JsonNode.Parse((await running.GetAsync("support", "/v1/units/U-1?on=2026-10-20")).Text)!;
        Assert.Equal(
            ("to-inspect", "50.00", "210.00", "35.00", "-195.00", "swapped"),
            ((string)dented["status"]!, (string)dented["earned"]!["rent"]!, (string)dented["cost"]!, (string)dented["repair"]!, (string)dented["net"]!, (string)dented["uses"]![0]!["end"]!));
        var then = JsonNode.Parse((await running.GetAsync("support", "/v1/units/U-1?on=2026-10-12&known=2026-10-12")).Text)!;
        Assert.Equal(("due-back", "C-1"), ((string)then["status"]!, (string)then["contract"]!));
        (await running.GetAsync("support", "/v1/units/U-77")).IsProblem(404, "unit-unknown");
        Assert.Equal(HttpStatusCode.NotFound, (await running.GetAsync("support", "/unit/U-77")).Status);
        var missing = await Shell.ContractsWithAsync(running.Database, "unit", "U-77", "--format", "json");
        Assert.Equal((ExitCodes.Refused, "unit-unknown"), (missing.Exit, (string)JsonNode.Parse(missing.Error)!["code"]!));
    }

    [Fact]
    public async Task The_fleet_and_what_is_due_back_are_told_alike_and_add_up()
    {
        await using var running = await YearAsync();
        const string span = "from=2026-08-02&through=2026-10-20&known=2026-10-20";
        var api = await running.GetAsync("finance", $"/v1/fleet?{span}");
        var shell = await Shell.ContractsWithAsync(running.Database, "fleet", "--from", "2026-08-02", "--through", "2026-10-20", "--known", "2026-10-20", "--format", "json");
        Assert.Equal((0, api.Text), (shell.Exit, shell.Output));
        var kind = Assert.Single(JsonNode.Parse(api.Text)!["kinds"]!.AsArray())!;
        // U-1 and U-2 from 2 August: 80 days each; S-9, never acquired, from 1 September: 50. Out: 1 Sep to 10 Oct 39 and 11 days, and 50.
        Assert.Equal((3, 2, 210, 100, "0.4762"), ((int)kind["units"]!, (int)kind["acquired"]!, (int)kind["daysOwned"]!, (int)kind["daysPlaced"]!, (string)kind["utilisation"]!));
        Assert.Equal([2, 1], JsonNode.Parse(api.Text)!["months"]!.AsArray().Select(month => (int)month!["wentOut"]!));
        Assert.Contains("0.4762", (await running.GetAsync("finance", $"/fleet?{span}")).Text, StringComparison.Ordinal);
        var csv = await Shell.ContractsWithAsync(running.Database, "fleet", "--from", "2026-08-02", "--through", "2026-10-20", "--format", "csv");
        Assert.Contains("all,clarinet,,,,3,2,210,100,0.4762", csv.Output, StringComparison.Ordinal);

        var due = await running.GetAsync("support", "/v1/fleet/due?on=2026-10-12&known=2026-10-12");
        var told = await Shell.ContractsWithAsync(running.Database, "fleet", "due", "--on", "2026-10-12", "--known", "2026-10-12", "--format", "json");
        Assert.Equal((0, due.Text), (told.Exit, told.Output));
        var one = Assert.Single(JsonNode.Parse(due.Text)!.AsArray())!;
        Assert.Equal(("U-1", "2026-10-14", "post RL-1", true), ((string)one["serial"]!, (string)one["returnBy"]!, (string)one["label"]!, (bool)one["needsReminder"]!));
        Assert.Equal("[]\n", (await running.GetAsync("support", "/v1/fleet/due?on=2026-10-20")).Text);
        Assert.Contains("remind now", (await running.GetAsync("support", "/account/C-1?on=2026-10-12&known=2026-10-12")).Text, StringComparison.Ordinal);
        var calendar = (await running.GetAsync("support", "/v1/accounts/C-1/due.ics?on=2026-10-12&known=2026-10-12")).Text;
        Assert.Contains("SUMMARY:Instrument rental C-1: U-1 due back\r\n", calendar, StringComparison.Ordinal);
        (await running.GetAsync("finance", "/v1/fleet?from=2026-11-01&through=2026-10-01")).IsProblem(400, "date-invalid");
        (await running.GetAsync("finance", "/v1/fleet?from=never")).IsProblem(400, "date-invalid");
        await running.Store.SealerWith(running.Signer).SealAsync(anchor: false, TestContext.Current.CancellationToken);
        (await running.GetAsync("support", "/v1/units/U-1?known=size:1")).IsProblem(400, "date-invalid");
    }

    [Fact]
    public async Task A_unit_in_no_contract_yet_is_found_and_one_with_odd_signs_has_its_page()
    {
        await using var running = await YearAsync();
        await running.AppliedAsync(UnitLines.Acquire("A/7 & <co>", "2026-10-20T12:00:00Z"));
        var found = await running.GetAsync("support", "/?q=" + Uri.EscapeDataString("A/7 & <co>"));
        Assert.Equal(HttpStatusCode.Found, found.Status);
        var page = await running.GetAsync("support", found.Headers["Location"]);
        Assert.Equal(HttpStatusCode.OK, page.Status);
        Assert.Contains("A/7 &amp; &lt;co&gt;", page.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("<co>", page.Text, StringComparison.Ordinal);
    }

    /// <summary>Two units that are kept and one that is not: signed, dented, swapped with a label, back, repaired.</summary>
    private async Task<RunningApi> YearAsync()
    {
        var running = await RunningApi.StartAsync(server);
        foreach (var line in new[]
        {
            Lines.Tax, UnitLines.Acquire("U-1"), UnitLines.Acquire("U-2"), UnitLines.Inspect("U-1"), UnitLines.Inspect("U-2"),
            Lines.Sign("C-1", "U-1"), Lines.Sign("C-9", "S-9"), Lines.Pay("C-1", "p1", "21.60", "2026-09-01T12:00:00Z"),
            UnitLines.Line("ship-unit", "U-1", "2026-09-02T12:00:00Z", ("contract", "C-1"), ("carrier", "post"), ("reference", "PK-1")),
            UnitLines.Line("deliver-unit", "U-1", "2026-09-04T12:00:00Z"),
            Lines.Pay("C-1", "p2", "32.40", "2026-10-01T12:00:00Z"),
            """{"do":"report-damage","key":"D","at":"2026-10-10T12:00:00Z","contract":"C-1","on":"2026-10-10","description":"a dent","estimate":"60.00"}""",
            """{"do":"swap","key":"S","at":"2026-10-10T12:00:00Z","contract":"C-1","on":"2026-10-10","serial":"U-2","returnBy":"2026-10-14","damage":"D"}""",
            """{"do":"issue-label","key":"L","at":"2026-10-10T12:00:00Z","contract":"C-1","on":"2026-10-10","serial":"U-1","carrier":"post","reference":"RL-1"}""",
            """{"do":"receive-unit","key":"R","at":"2026-10-13T12:00:00Z","contract":"C-1","on":"2026-10-13","serial":"U-1"}""",
            UnitLines.Line("send-to-repair", "U-1", "2026-10-14T12:00:00Z", ("description", "a dent")),
            UnitLines.Line("finish-repair", "U-1", "2026-10-18T12:00:00Z", ("cost", "35.00")),
        })
        {
            await running.AppliedAsync(line);
        }

        return running;
    }

    private static RefusalCode? Code(IReadOnlyList<CommandResult> results) => (results[0] as CommandResult.Refused)?.Refusal.Code;

    private static string Today() => SystemClock.Instance.GetCurrentInstant().InZone(Server.Zone).Date.ToString("uuuu-MM-dd", null) + "T12:00:00Z";

    private static LocalDate Day(string at) => NodaTime.Text.LocalDatePattern.Iso.Parse(at[..10]).Value;
}
