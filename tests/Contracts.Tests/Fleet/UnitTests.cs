using Contracts.Agreements;
using Contracts.Fleet;
using Contracts.Instruments;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Fleet;

/// <summary>One unit of the fleet, told in short lines: docs/instruments.md, rule by rule.</summary>
public sealed class UnitTests
{
    private const string Kept = "2026-08-01 acquire-unit serial=HC-1 kind=clarinet condition=new cost=412.00 supplier=maker\n";
    private const string Ready = Kept + "2026-08-10 inspect-unit serial=HC-1\n";
    private const string Out = Ready + "2026-09-05 sign\n";

    [Fact]
    public void A_unit_that_was_never_acquired_is_taken_as_the_contract_says()
    {
        Script.Given("2026-09-05 sign\n2026-10-05 return").When("2026-10-06 sign contract=C-2").ThenAccepted();
        var life = Life(Script.Given("2026-09-05 sign cost=400.00\n2026-09-05 pay amount=45.00 method=cash"), "HC-1", "2026-09-05");
        Assert.Equal(("on-contract", "C-1", "45.00", "400.00", false), (life.State.StatusWord, life.Holder, life.Rent.ToString(), life.Cost.ToString(), life.State.IsKept));
    }

    [Fact]
    public void A_unit_of_the_fleet_needs_a_passed_inspection_before_each_placing()
    {
        Script.Given(Kept).When("2026-09-05 sign").ThenRefused(RefusalCode.UnitNotInspected, "2026-08-01");
        Script.Given(Ready).When("2026-09-05 sign").ThenAccepted();
        Script.Given(Ready + "2026-08-11 inspect-unit serial=HC-1 fails=pads,cork-and-felt").When("2026-09-05 sign").ThenRefused(RefusalCode.UnitNotInspected);
        // The inspection of before the return says nothing about the unit that came back.
        var back = Out + "2026-09-05 pay amount=45.00 method=cash\n2026-10-05 return\n";
        Script.Given(back).When("2026-10-06 sign contract=C-2").ThenRefused(RefusalCode.UnitNotInspected, "2026-10-05");
        Script.Given(back + "2026-10-06 inspect-unit serial=HC-1").When("2026-10-06 sign contract=C-2").ThenAccepted();
        Script.Given(back + "2026-10-06 inspect-unit serial=HC-1").When("2026-10-05 @2026-10-07 sign contract=C-2").ThenRefused(RefusalCode.UnitNotInspected);
    }

    [Theory]
    [InlineData("2026-10-06 swap serial=HC-7 returnBy=2026-10-20")]
    [InlineData("2026-10-06 exchange serial=HC-7")]
    public void The_rule_holds_for_a_unit_that_goes_out_for_another(string line)
    {
        const string kept = "2026-08-01 acquire-unit serial=HC-7 kind=clarinet condition=used cost=200.00\n2026-09-05 sign\n";
        Script.Given(kept).When(line).ThenRefused(RefusalCode.UnitNotInspected, "2026-08-01");
        Script.Given(kept + "2026-10-06 inspect-unit serial=HC-7").When(line).ThenAccepted();
    }

    [Fact]
    public void The_rule_holds_for_a_reinstatement_with_the_same_unit_and_with_another()
    {
        const string back = Out + "2026-09-05 pay amount=45.00 method=cash\n2026-10-05 return\n2026-08-01 @2026-10-05 acquire-unit serial=HC-7 kind=clarinet condition=new cost=400.00\n";
        Script.Given(back).When("2026-10-07 reinstate").ThenRefused(RefusalCode.UnitNotInspected, "2026-10-05");
        Script.Given(back).When("2026-10-07 reinstate serial=HC-7").ThenRefused(RefusalCode.UnitNotInspected, "2026-08-01");
        Script.Given(back + "2026-10-07 inspect-unit serial=HC-1").When("2026-10-07 reinstate").ThenAccepted();
        Script.Given(back + "2026-10-07 inspect-unit serial=HC-7").When("2026-10-07 reinstate serial=HC-7").ThenAccepted();
    }

    [Fact]
    public void A_purchase_that_is_undone_hands_nothing_out_and_asks_for_no_inspection()
    {
        var script = Script.Given(Out + "2026-09-05 pay amount=45.00 method=cash\n2026-09-06 buy amount=690.00 method=card key=B");
        Assert.Equal("owned", Life(script, "HC-1", "2026-09-06").State.StatusWord);
        script.When("2026-09-20 reverse-payment payment=B code=R01 reason=bank").ThenAccepted();
        Assert.Equal(("owned", "on-contract"), (Life(script, "HC-1", "2026-09-06").State.StatusWord, Life(script, "HC-1", "2026-09-20").State.StatusWord));
    }

    [Fact]
    public void A_unit_on_one_contract_is_on_no_other()
    {
        Script.Given(Out).When("2026-09-06 sign contract=C-2").ThenRefused(RefusalCode.InstrumentOnOpenContract);
        // The family still has it after the swap: the store cannot hand it out.
        const string swapped = Out + "2026-09-10 swap serial=HC-2 returnBy=2026-09-24\n";
        Script.Given(swapped).When("2026-09-11 sign contract=C-2").ThenRefused(RefusalCode.UnitStatusForbids, "due-back");
        Script.Given(swapped + "2026-09-20 receive-unit serial=HC-1").When("2026-09-21 sign contract=C-2").ThenRefused(RefusalCode.UnitNotInspected, "2026-09-20");
        Script.Given(swapped + "2026-09-20 receive-unit serial=HC-1\n2026-09-21 inspect-unit serial=HC-1").When("2026-09-21 sign contract=C-2").ThenAccepted();
    }

    [Theory]
    [InlineData("2026-09-05 grade-unit serial=HC-9 grade=A", RefusalCode.UnitUnknown, null)]
    [InlineData("2026-09-05 acquire-unit serial=HC-1 kind=clarinet condition=new cost=1.00", RefusalCode.UnitAlreadyAcquired, "2026-08-01")]
    [InlineData("2026-07-31 @2026-09-05 inspect-unit serial=HC-1", RefusalCode.UnitStatusForbids, "2026-08-01")]
    [InlineData("2026-07-31 @2026-09-05 sign", RefusalCode.UnitStatusForbids, "2026-08-01")]
    [InlineData("2026-12-31 @2026-09-05 inspect-unit serial=HC-1", RefusalCode.OnTooFarAhead, "2026-10-06")]
    [InlineData("2026-09-05 inspect-unit serial=HC-1 leave=tuning", RefusalCode.InspectionIncomplete, "tuning")]
    [InlineData("2026-09-05 inspect-unit serial=HC-1 more=colour", RefusalCode.InspectionIncomplete, null)]
    [InlineData("2026-09-05 inspect-unit serial=HC-1 more=tuning", RefusalCode.InspectionIncomplete, null)]
    [InlineData("2026-09-05 inspect-unit serial=HC-1 fails=pads passed=yes", RefusalCode.InspectionIncomplete, null)]
    [InlineData("2026-09-05 ship-unit serial=HC-1 contract=C-1 carrier=van reference=V-1", RefusalCode.UnitStatusForbids, "ready")]
    [InlineData("2026-09-05 deliver-unit serial=HC-1", RefusalCode.UnitStatusForbids, null)]
    [InlineData("2026-09-05 finish-repair serial=HC-1 cost=20.00", RefusalCode.UnitStatusForbids, null)]
    [InlineData("2026-09-05 restore-unit serial=HC-1 reason=found", RefusalCode.UnitStatusForbids, null)]
    [InlineData("2026-09-05 retire-unit serial=HC-1", RefusalCode.ReasonMissing, null)]
    [InlineData("2026-09-05 report-missing serial=HC-1", RefusalCode.ReasonMissing, null)]
    [InlineData("2026-09-05 sell-unit serial=HC-1 price=0.00", RefusalCode.AmountNotPositive, null)]
    public void What_cannot_be_done_with_a_unit_is_refused_by_its_name(string line, RefusalCode code, string? right) =>
        Script.Given(Ready).When(line).ThenRefused(code, right);

    [Theory]
    [InlineData("2026-09-06 retire-unit serial=HC-1 reason=old")]
    [InlineData("2026-09-06 sell-unit serial=HC-1 price=100.00")]
    [InlineData("2026-09-06 report-missing serial=HC-1 reason=count")]
    public void What_a_family_has_leaves_the_fleet_by_no_fact_of_the_store(string line) =>
        Script.Given(Out).When(line).ThenRefused(RefusalCode.UnitStatusForbids, "on-contract");

    [Fact]
    public void What_moves_a_unit_is_never_slipped_in_before_another()
    {
        Script.Given(Ready + "2026-09-01 send-to-repair serial=HC-1 description=crack\n2026-09-08 finish-repair serial=HC-1 cost=35.00")
            .When("2026-09-07 @2026-09-09 sell-unit serial=HC-1 price=90.00").ThenRefused(RefusalCode.UnitLaterEvent, "2026-09-08");
        Script.Given(Out + "2026-10-05 return").When("2026-09-30 @2026-10-06 ship-unit serial=HC-1 contract=C-1 carrier=van reference=V-1")
            .ThenRefused(RefusalCode.UnitLaterEvent, "2026-10-05");
        // An inspection moves nothing: one that is written up late counts from its day.
        Script.Given(Kept).When("2026-08-20 @2026-09-05 inspect-unit serial=HC-1").ThenAccepted().When("2026-09-05 sign").ThenAccepted();
    }

    [Fact]
    public void A_contract_takes_a_unit_only_as_what_it_is() =>
        Script.Given("2026-08-01 acquire-unit serial=HC-1 kind=trumpet condition=new cost=412.00\n2026-08-10 inspect-unit serial=HC-1")
            .When("2026-09-05 sign").ThenRefused(RefusalCode.UnitKindDiffers, "trumpet");

    [Fact]
    public void A_repair_ends_what_an_inspection_said()
    {
        var script = Script.Given(Ready + "2026-08-20 send-to-repair serial=HC-1 description=crack estimate=40.00");
        script.When("2026-08-21 sign").ThenRefused(RefusalCode.UnitStatusForbids, "in-repair");
        script.When("2026-08-25 finish-repair serial=HC-1 cost=35.50").ThenAccepted().When("2026-08-26 sign").ThenRefused(RefusalCode.UnitNotInspected, "2026-08-25");
        script.When("2026-08-26 inspect-unit serial=HC-1").ThenAccepted().When("2026-08-26 sign").ThenAccepted();
        Assert.Equal("35.50", Life(script, "HC-1", "2026-08-26").Repair.ToString());
    }

    [Fact]
    public void A_unit_is_shipped_to_the_family_that_signed_and_delivered_once()
    {
        var script = Script.Given(Out);
        script.When("2026-09-05 ship-unit serial=HC-1 contract=C-2 carrier=van reference=V-1").ThenRefused(RefusalCode.UnitStatusForbids, "C-1");
        script.When("2026-09-05 ship-unit serial=HC-1 contract=C-1 carrier=van reference=V-1").ThenAccepted();
        script.When("2026-09-06 ship-unit serial=HC-1 contract=C-1 carrier=van reference=V-2").ThenRefused(RefusalCode.UnitStatusForbids);
        Assert.Null(Life(script, "HC-1", "2026-09-06").State.DeliveredOn);
        script.When("2026-09-07 deliver-unit serial=HC-1").ThenAccepted().When("2026-09-08 deliver-unit serial=HC-1").ThenRefused(RefusalCode.UnitStatusForbids);
        Assert.Equal(new LocalDate(2026, 9, 7), Life(script, "HC-1", "2026-09-08").State.DeliveredOn);
        // An inspection that fails after the signing stops the parcel, not the contract.
        Script.Given(Out + "2026-09-05 inspect-unit serial=HC-1 fails=pads").When("2026-09-05 ship-unit serial=HC-1 contract=C-1 carrier=van reference=V-1")
            .ThenRefused(RefusalCode.UnitNotInspected);
    }

    [Theory]
    [InlineData("2026-08-20 retire-unit serial=HC-1 reason=old", "retired")]
    [InlineData("2026-08-20 sell-unit serial=HC-1 price=150.00", "sold")]
    [InlineData("2026-08-20 report-missing serial=HC-1 reason=count", "lost")]
    public void What_left_the_fleet_goes_out_no_more_until_it_is_taken_back_and_inspected(string line, string word)
    {
        var script = Script.Given(Ready + line);
        Assert.Equal(word, Life(script, "HC-1", "2026-08-20").State.StatusWord);
        script.When("2026-09-05 sign").ThenRefused(RefusalCode.UnitStatusForbids, word).When("2026-09-05 inspect-unit serial=HC-1").ThenRefused(RefusalCode.UnitStatusForbids);
        script.When("2026-09-05 restore-unit serial=HC-1 reason=mistake").ThenAccepted().When("2026-09-05 sign").ThenRefused(RefusalCode.UnitNotInspected, "2026-09-05");
        script.When("2026-09-05 inspect-unit serial=HC-1").ThenAccepted().When("2026-09-05 sign").ThenAccepted();
        Assert.Equal(Money.Zero, Life(script, "HC-1", "2026-09-05").Sale);
    }

    [Fact]
    public void A_signing_dated_back_does_not_go_round_an_inspection_that_failed_since() =>
        Script.Given(Ready + "2026-08-12 inspect-unit serial=HC-1 fails=pads")
            .When("2026-08-11 @2026-08-13 sign").ThenRefused(RefusalCode.UnitNotInspected, "2026-08-12")
            .When("2026-08-14 inspect-unit serial=HC-1").ThenAccepted().When("2026-08-11 @2026-08-15 sign").ThenAccepted();

    [Fact]
    public void Nobody_has_inspected_a_unit_on_a_day_to_come() =>
        Script.Given(Ready).When("2026-09-20 @2026-09-01 inspect-unit serial=HC-1").ThenRefused(RefusalCode.OnTooFarAhead, "2026-09-01");

    [Fact]
    public void A_unit_that_a_family_has_already_is_acquired_where_it_is()
    {
        var script = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-08-01 @2026-09-20 acquire-unit serial=HC-1 kind=clarinet condition=new cost=412.00");
        Assert.Equal(("on-contract", "to-inspect"), (Life(script, "HC-1", "2026-09-20").State.StatusWord, Life(script, "HC-1", "2026-08-15").State.StatusWord));
        script.When("2026-10-05 return").ThenAccepted().When("2026-10-06 sign contract=C-2").ThenRefused(RefusalCode.UnitNotInspected, "2026-10-05");
    }

    [Fact]
    public void A_loss_is_the_contracts_to_report_and_to_undo()
    {
        var script = Script.Given(Out + "2026-09-20 report-loss kind=lost");
        Assert.Equal(("lost", (string?)null), (Life(script, "HC-1", "2026-09-20").State.StatusWord, Life(script, "HC-1", "2026-09-20").Holder));
        script.When("2026-09-21 restore-unit serial=HC-1 reason=found").ThenRefused(RefusalCode.UnitStatusForbids);
        script.When("2026-09-25 return").ThenAccepted();
        Assert.Equal("to-inspect", Life(script, "HC-1", "2026-09-25").State.StatusWord);
    }

    [Fact]
    public void What_a_unit_earned_is_what_was_paid_while_it_was_out()
    {
        // 45.00 for two months on HC-1, swapped before 5 November; 38.00 of November and December on HC-2; then bought.
        var script = Script.Given(
            Ready + "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-10-20 swap serial=HC-2 returnBy=2026-11-03\n2026-11-01 receive-unit serial=HC-1\n"
            + "2026-11-05 pay amount=38.00 method=cash\n2026-12-05 pay amount=38.00 method=cash\n2026-12-06 buy amount=751.80 method=card");
        var (first, second) = (Life(script, "HC-1", "2026-12-06"), Life(script, "HC-2", "2026-12-06"));
        Assert.Equal(("45.00", "0.00", "-367.00"), (first.Rent.ToString(), first.Sale.ToString(), first.Net.ToString()));
        Assert.Equal(("76.00", "751.80"), (second.Rent.ToString(), second.Sale.ToString()));
        // As known before the money of December came, and as of a day before it.
        Assert.Equal("38.00", Life(script, "HC-2", "2026-12-05", "2026-12-04").Rent.ToString());
        Assert.Equal("0.00", Life(script, "HC-2", "2026-11-04").Rent.ToString());
    }

    [Fact]
    public void A_unit_that_does_not_come_back_earns_its_fee()
    {
        var script = Script.Given(Out + "2026-09-05 pay amount=45.00 method=cash\n2026-09-10 swap serial=HC-2 returnBy=2026-09-24\n2026-09-25 pay amount=690.00 method=card");
        Assert.Equal(("due-back", "690.00"), (Life(script, "HC-1", "2026-09-25").State.StatusWord, Life(script, "HC-1", "2026-09-25").NotReturned.ToString()));
        script.When("2026-10-01 receive-unit serial=HC-1").ThenAccepted();
        Assert.Equal(("to-inspect", "0.00"), (Life(script, "HC-1", "2026-10-01").State.StatusWord, Life(script, "HC-1", "2026-10-01").NotReturned.ToString()));
    }

    [Fact]
    public void Rent_is_the_units_that_was_out_when_it_fell_due_whenever_it_is_paid()
    {
        // Due on 5 November, the day of the swap: the old unit's, though it is paid a week later.
        var script = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-11-05 swap serial=HC-2 returnBy=2026-11-19\n2026-11-12 pay amount=38.00 method=cash");
        Assert.Equal(("83.00", "0.00"), (Life(script, "HC-1", "2026-11-12").Rent.ToString(), Life(script, "HC-2", "2026-11-12").Rent.ToString()));
    }

    [Fact]
    public void A_unit_handed_in_before_its_swap_was_recorded_is_in_the_store_with_the_swap()
    {
        var script = Script.Given(Out + "2026-09-09 receive-unit serial=HC-1\n2026-09-10 swap serial=HC-2 returnBy=2026-09-24");
        Assert.Equal(("to-inspect", "on-contract"), (Life(script, "HC-1", "2026-09-10").State.StatusWord, Life(script, "HC-2", "2026-09-10").State.StatusWord));
    }

    [Fact]
    public void Days_owned_run_from_the_acquisition_and_the_day_it_comes_back_is_no_day_out()
    {
        var script = Script.Given(Out + "2026-09-15 return");
        var uses = UnitLife.UsesOf(script.Shop.History("C-1"), script.Shop.RatesAt(Instant.MaxValue), new LocalDate(2026, 9, 30));
        var report = FleetReport.Of([script.Shop.Unit("HC-1")], uses, new LocalDate(2026, 8, 1), new LocalDate(2026, 9, 30));
        // 31 days of August and 30 of September; out from the 5th to the 14th. 10 / 61 = 0.16393.
        Assert.Equal(new KindUse("clarinet", 1, 1, 61, 10), Assert.Single(report.Kinds));
        Assert.Equal(1639, report.Kinds[0].Utilisation);
        Assert.Equal(new KindMonth(new YearMonth(2026, 9), "clarinet", 1, 1, 0), Assert.Single(report.Months));
    }

    [Fact]
    public void Goodwill_is_no_money_that_a_unit_earned()
    {
        var script = Script.Given(Out + "2026-09-05 pay amount=45.00 method=cash\n2026-09-10 swap serial=HC-2 returnBy=2026-09-24\n2026-09-25 credit amount=690.00 reason=kindness");
        Assert.Equal(("0.00", "0.00"), (Life(script, "HC-1", "2026-09-25").NotReturned.ToString(), script.On("2026-09-25").PastDue.ToString()));
    }

    [Fact]
    public void The_checklist_has_forty_items_and_says_where_it_comes_from()
    {
        var list = Assert.Single(Checklist.All);
        Assert.Equal(("band-and-orchestra.1", 40), (list.Name, list.Items.Select(item => item.Item).Distinct().Count()));
        Assert.Contains("no source", list.Source, StringComparison.Ordinal);
    }

    private static UnitLife Life(Script script, string serial, string on, string? known = null) => script.Shop.UnitLife(
        serial, LocalDatePattern.Iso.Parse(on).Value, known is null ? null : LocalDatePattern.Iso.Parse(known).Value.At(LocalTime.Noon).InUtc().ToInstant())
        ?? throw new InvalidOperationException("Nothing names the unit.");
}
