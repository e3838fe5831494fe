using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Fleet;
using Contracts.History;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Fleet;

/// <summary>From the report of a damage to the unit that comes back or is charged; no step but the last moves a figure.</summary>
public sealed class DamageTests
{
    private const string Paid = "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n";

    [Fact]
    public void Who_has_the_plan_is_told_that_a_repair_costs_nothing_and_who_has_not_what_it_costs()
    {
        Assert.Equal((true, "0.00"), Told(Script.Given("2026-09-05 sign elected=yes\n2026-09-10 report-damage description=dent estimate=60.00")));
        Assert.Equal((false, "60.00"), Told(Script.Given(Paid + "2026-09-10 report-damage description=dent estimate=60.00")));
        Assert.Equal((false, null), Told(Script.Given(Paid + "2026-09-10 report-damage description=dent")));
    }

    [Fact]
    public void What_a_repair_costs_is_told_and_never_charged()
    {
        var script = Script.Given(Paid + "2026-09-10 report-damage description=dent estimate=60.00 key=D\n2026-09-10 swap serial=HC-2 returnBy=2026-09-24 damage=D\n"
            + "2026-09-11 issue-label serial=HC-1 carrier=post reference=RL-1\n2026-09-20 receive-unit serial=HC-1");
        var plain = Script.Given(Paid + "2026-09-10 swap serial=HC-2 returnBy=2026-09-24\n2026-09-20 receive-unit serial=HC-1");
        foreach (var day in new[] { "2026-09-10", "2026-09-25", "2026-12-31" })
        {
            Assert.Equal(plain.On(day) with { Events = 0, LastSequence = 0, OpenItems = [] }, script.On(day) with { Events = 0, LastSequence = 0, OpenItems = [] });
            Assert.Equal(plain.On(day).OpenItems.AsEnumerable(), script.On(day).OpenItems.AsEnumerable());
        }
    }

    [Theory]
    [InlineData("", "2026-09-10 swap serial=HC-2 returnBy=2026-09-24 damage=D", RefusalCode.DamageUnknown)]
    [InlineData("2026-09-10 report-damage description=dent key=D", "2026-09-10 swap serial=HC-2 returnBy=2026-09-24 damage=D", RefusalCode.RepairFeeNotTold)]
    [InlineData("2026-09-10 report-damage description=dent estimate=60.00 key=D", "2026-09-09 @2026-09-11 swap serial=HC-2 returnBy=2026-09-24 damage=D", RefusalCode.DamageUnknown)]
    [InlineData(
        "2026-09-10 report-damage description=dent estimate=60.00 key=D\n2026-09-11 swap serial=HC-2 returnBy=2026-09-24",
        "2026-09-12 swap serial=HC-3 returnBy=2026-09-24 damage=D", RefusalCode.DamageUnknown)]
    [InlineData("", "2026-09-10 issue-label serial=HC-9 carrier=post reference=RL-1", RefusalCode.UnitNotDueBack)]
    [InlineData(
        "2026-09-10 swap serial=HC-2 returnBy=2026-09-24\n2026-09-12 receive-unit serial=HC-1", "2026-09-13 issue-label serial=HC-1 carrier=post reference=RL-1", RefusalCode.UnitNotDueBack)]
    [InlineData("2026-10-05 return", "2026-10-06 report-damage description=dent", RefusalCode.StatusForbids)]
    [InlineData("", "2026-09-10 report-damage description=dent estimate=0.00", RefusalCode.AmountNotPositive)]
    public void The_steps_come_in_their_order(string given, string when, RefusalCode code) => Script.Given(Paid + given).When(when).ThenRefused(code);

    [Fact]
    public void A_reminder_is_due_before_the_last_day_until_the_unit_is_back_or_charged()
    {
        var script = Script.Given(Paid + "2026-09-10 swap serial=HC-2 returnBy=2026-09-24 key=S\n2026-09-11 issue-label serial=HC-1 carrier=post reference=RL-1");
        Assert.Empty(Due(script, "2026-09-09"));
        Assert.Equal((false, false), Flags(script, "2026-09-18"));
        Assert.Equal((true, false), Flags(script, "2026-09-19"));
        Assert.Equal((true, false), Flags(script, "2026-09-24"));
        Assert.Equal((false, true), Flags(script, "2026-09-25"));
        var one = Assert.Single(Due(script, "2026-09-19"));
        Assert.Equal(("C-1", "S", "HC-1", "post RL-1", "690.00"), (one.Contract, one.Swap, one.Serial, one.Label, one.Fee.ToString()));
        Assert.Null(Assert.Single(Due(script, "2026-09-10")).Label);
        script.When("2026-09-20 receive-unit serial=HC-1").ThenAccepted();
        Assert.Empty(Due(script, "2026-09-20"));
        Assert.Single(Due(script, "2026-09-19"));
    }

    [Fact]
    public void A_unit_handed_in_before_its_replacement_was_recorded_is_not_due_back()
    {
        Assert.Empty(Due(Script.Given(Paid + "2026-09-09 receive-unit serial=HC-1\n2026-09-10 swap serial=HC-2 returnBy=2026-09-24"), "2026-09-20"));
        // Out again and swapped again: it is due back again.
        Assert.Equal("HC-1", Assert.Single(Due(
            Script.Given(Paid + "2026-09-09 receive-unit serial=HC-1\n2026-09-10 swap serial=HC-2 returnBy=2026-09-24\n2026-09-11 receive-unit serial=HC-2\n"
                + "2026-09-12 swap serial=HC-1 returnBy=2026-09-26\n2026-09-13 swap serial=HC-2 returnBy=2026-09-27"), "2026-09-20")).Serial);
    }

    [Fact]
    public void An_order_cancelled_before_it_begins_gives_all_the_money_back()
    {
        var script = Script.Given("2026-09-01 sign start=2026-09-10\n2026-09-01 pay amount=45.00 method=card\n2026-09-05 return");
        Assert.Equal(("cancelled", "45.00", "0.00"), (script.On("2026-09-05").Status, script.On("2026-09-05").UnappliedCredit.ToString(), script.On("2026-09-05").Paid.Total.ToString()));
        script.When("2026-09-05 refund amount=45.00").ThenAccepted();
        Assert.Equal("0.00", script.On("2026-09-05").UnappliedCredit.ToString());
    }

    private static (bool Covered, string? Fee) Told(Script script)
    {
        var told = script.Shop.History("C-1").Facts.Select(fact => fact.Event).OfType<ContractEvent.DamageReported>().Single();
        return (told.Covered, told.RepairFee?.ToString());
    }

    private static (bool Remind, bool Charged) Flags(Script script, string on)
    {
        var one = Assert.Single(Due(script, on));
        return (one.NeedsReminder, one.IsCharged);
    }

    private static ImmutableArray<DueBack> Due(Script script, string on)
    {
        var day = LocalDatePattern.Iso.Parse(on).Value;
        return AccountFold.At(script.Shop.History("C-1"), script.Shop.RatesAt(Instant.MaxValue), day) is { } state ? DueBack.Of(state) : [];
    }
}
