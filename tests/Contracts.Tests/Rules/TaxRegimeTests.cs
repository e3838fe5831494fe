using System.Text;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.Terms;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>When rents and prices are taxed (M78 to M82). The area "delivery" taxes all at 8 %, rents at delivery.</summary>
public sealed class TaxRegimeTests
{
    private static readonly LocalDate Day = new(2026, 9, 5);

    [Fact]
    public void The_whole_tax_falls_due_before_the_first_rent_under_its_own_name()
    {
        // T = 1195.00: 95.60.
        var account = Script.Given("2026-09-05 sign area=delivery").On("2026-09-05");
        Assert.Equal(
            ["delivery-tax:2026-09-05 delivery-tax tax 95.60", "installment:2026-09-05 installment rent 45.00"],
            account.OpenItems.Select(Told));
    }

    [Fact]
    public void Goodwill_pays_a_delivery_tax_and_no_waiver_does()
    {
        var script = Script.Given("2026-09-05 sign area=delivery\n2026-09-05 credit amount=100.00 reason=kindness");
        Assert.Equal(("4.40", "45.00"), (script.On("2026-09-05").GoodwillCredit.ToString(), script.On("2026-09-05").PastDue.ToString()));
        script.When("2026-09-06 waive fee=delivery-tax:2026-09-05 reason=kindness").ThenRefused(RefusalCode.FeeUnknown);
    }

    [Fact]
    public void A_contract_that_ends_before_its_first_rent_is_never_taxed()
    {
        Assert.Empty(Script.Given("2026-09-01 sign area=delivery start=2026-09-05\n2026-09-04 return").On("2026-09-30").OpenItems);
        Assert.Empty(Script.Given("2026-09-05 sign area=delivery\n2026-09-05 return").On("2026-09-30").OpenItems);
    }

    [Fact]
    public void A_hold_on_the_first_day_moves_the_delivery_tax_with_the_first_rent()
    {
        var script = Script.Given("2026-09-05 sign area=delivery\n2026-09-05 hold reason=summer\n2026-10-01 release");
        Assert.Equal("0.00", script.On("2026-10-04").PastDue.ToString());
        Assert.Equal("140.60", script.On("2026-10-04").NextDue!.Amount.ToString());
        Assert.Equal("140.60", script.On("2026-10-05").PastDue.ToString());
    }

    [Fact]
    public void What_is_kept_counts_the_rent_that_was_charged_paid_or_not()
    {
        // 95.60 and 45.00 are paid; November's 38.00 is not, and owed when the clarinet comes back: 83.00 x 8 % = 6.64.
        var account = Script.Given("2026-09-05 sign area=delivery late=0.00/7\n2026-09-05 pay amount=140.60 method=card\n2026-11-20 return").On("2026-11-20");
        Assert.Equal("6.64", account.Paid.Tax.ToString());
        // 95.60 - 6.64 - 38.00.
        Assert.Equal(("0.00", "50.96"), (account.PastDue.ToString(), account.UnappliedCredit.ToString()));
    }

    [Fact]
    public void An_unpaid_delivery_tax_that_an_exchange_brings_costs_no_late_fee()
    {
        // 124.40, of which the 92.00 that came free of the old tax of 95.60 have paid a part.
        var account = Script.Given("2026-09-05 sign area=delivery\n2026-09-05 pay amount=140.60 method=card\n2026-09-06 exchange price=1600.00 plan=none").On("2026-10-30");
        Assert.Equal(
            ["delivery-tax:2026-09-06 delivery-tax tax 32.40"], account.OpenItems.Where(item => item.Kind != "installment").Select(Told));
    }

    [Fact]
    public void An_exchange_on_the_first_day_keeps_the_tax_of_the_old_rent_and_takes_the_new_one()
    {
        // 45.00 x 8 % = 3.60 is kept; 1600.00 - 45.00 = 1555.00, 124.40.
        var account = Script.Given("2026-09-05 sign area=delivery\n2026-09-05 exchange price=1600.00").On("2026-09-05");
        Assert.Equal(
            ["delivery-tax:2026-09-05 delivery-tax tax 3.60", "delivery-tax:2026-09-05 delivery-tax tax 124.40", "installment:2026-09-05 installment rent 45.00"],
            account.OpenItems.Select(Told));
    }

    [Fact]
    public void A_loss_leaves_the_tax_and_finding_the_instrument_brings_the_credit()
    {
        var script = Script.Given("2026-09-05 sign area=delivery late=0.00/7\n2026-09-05 pay amount=140.60 method=card\n2026-09-20 report-loss kind=lost");
        Assert.Equal("95.60", script.On("2026-09-20").Paid.Tax.ToString());
        script.When("2026-09-25 return").ThenAccepted();
        Assert.Equal(("3.60", "92.00"), (script.On("2026-09-25").Paid.Tax.ToString(), script.On("2026-09-25").UnappliedCredit.ToString()));
    }

    [Fact]
    public void A_reinstatement_on_a_due_day_leaves_that_rent_its_own_tax()
    {
        // Returned in the introductory months, back on 5 November: 38.00 and its 3.04, then 8 % of the 1112.00 still ahead.
        var account = Script.Given(
            "2026-09-05 sign area=delivery late=0.00/7\n2026-09-05 pay amount=140.60 method=card\n2026-10-20 return\n2026-11-05 reinstate").On("2026-11-05");
        Assert.Equal("95.60", (account.Paid.Tax + Sum(account.OpenItems, "tax")).ToString());
        Assert.Equal("88.96", account.OpenItems.Single(item => item.Kind == "delivery-tax").Charged.ToString());
    }

    [Fact]
    public void A_move_changes_nothing_on_what_was_taxed_at_delivery()
    {
        var script = Script.Given("2026-09-05 sign area=delivery elected=yes\n2026-09-05 pay amount=140.60 method=card\n2026-11-05 move state=OR jurisdiction=taxed");
        // 38.00 without tax, the plan's 7.00 with 0.56; the price without.
        Assert.Equal(("45.56", "0.00"), (script.On("2026-11-05").PastDue.ToString(), script.On("2026-11-05").EarlyPurchase.Tax.ToString()));
    }

    [Theory]
    [InlineData("2026-11-20 return")]
    [InlineData("2026-11-10 move state=OR jurisdiction=lessor\n2026-11-20 return")]
    public void What_is_kept_was_taken_at_the_rate_of_the_delivery(string end)
    {
        var script = Script.Given("2026-09-05 sign area=delivery late=0.00/7\n2026-09-05 pay amount=140.60 method=card");
        Assert.Null(script.Shop.Apply(
            """{"do":"set-tax","key":"t","at":"2026-09-06T16:00:00Z","jurisdiction":"delivery","rate":"0.09","from":"2026-10-01","taxes":{"rent":true}}"""));
        foreach (var line in end.Split('\n')) { script.When(line).ThenAccepted(); }
        // 83.00 at the old 8 %, though the area has 9 % and the family may have left it.
        Assert.Equal("6.64", script.On("2026-11-20").Paid.Tax.ToString());
    }

    [Fact]
    public void A_payment_reversed_opens_the_delivery_tax_again()
    {
        var account = Script.Given(
            "2026-09-05 sign area=delivery returned=0.00\n2026-09-05 pay amount=140.60 method=card\n2026-09-10 reverse-payment payment=L2 code=R01 reason=bank").On("2026-09-10");
        Assert.Equal(["delivery-tax:2026-09-05 delivery-tax tax 95.60", "installment:2026-09-05 installment rent 45.00"], account.OpenItems.Select(Told));
    }

    [Fact]
    public void The_other_two_regimes_leave_rent_untaxed_and_tax_the_price()
    {
        var lessor = Script.Given("2026-09-05 sign area=lessor tiers=").On("2026-09-05");
        var net = Script.Given("2026-09-05 sign area=net tiers=").On("2026-09-05");
        Assert.Equal(("45.00", "45.00"), (lessor.PastDue.ToString(), net.PastDue.ToString()));
        // 1150.00 x 6.25 % = 71.875, x 7.25 % = 83.375; "net" taxes no other sale.
        Assert.Equal(("71.88", "83.38"), (lessor.EarlyPurchase.Tax.ToString(), net.EarlyPurchase.Tax.ToString()));
        Assert.Equal("57.00", Script.Given("2026-09-05 sign area=net accessories=12.00").On("2026-09-05").PastDue.ToString());
    }

    [Fact]
    public void A_note_is_written_of_the_rent_and_none_of_the_delivery_tax()
    {
        var script = Script.Given("2026-09-05 sign area=delivery\n2026-09-06 bill");
        Assert.Equal(["Signed 2026-09-05", "InstallmentCharged 2026-09-05"], script.Recorded());
        Assert.Equal(Money.Zero, script.Shop.History("C-1").Entries.Select(entry => entry.Event).OfType<ContractEvent.InstallmentCharged>().Single().Tax);
    }

    [Theory]
    [InlineData("", "each-payment", 0)]
    [InlineData(",\"regime\":\"each-payment\",\"parts\":[]", "each-payment", 0)]
    [InlineData(",\"regime\":\"whole-price-at-delivery\"", "whole-price-at-delivery", 0)]
    [InlineData(",\"regime\":\"lessor-cost\"", "lessor-cost", 0)]
    [InlineData(",\"regime\":\"net-price-at-purchase\"", "net-price-at-purchase", 0)]
    [InlineData(",\"parts\":[{\"authority\":\"the state\",\"rate\":\"0.065\"},{\"authority\":\"Wexmoor County\",\"rate\":0.0175}]", "each-payment", 2)]
    public void An_entry_reads_as_it_was_written(string further, string regime, int parts)
    {
        var (read, _) = CommandReader.Read(Line(further));
        var entry = ((Command.SetTax)read!.Command).Entry;
        Assert.Equal((regime, parts), (entry.Regime.Word(), entry.Parts.Length));
    }

    [Theory]
    [InlineData(",\"regime\":\"at-delivery\"", "regime", null)]
    [InlineData(",\"regime\":true", "regime", null)]
    [InlineData(",\"parts\":[{\"authority\":\"a\",\"rate\":\"0.065\"},{\"authority\":\"b\",\"rate\":\"0.017\"}]", "parts", "0.0825")]
    [InlineData(",\"parts\":[{\"authority\":\"a\",\"rate\":\"0.065\"},{\"authority\":\"a\",\"rate\":\"0.0175\"}]", "parts.authority", null)]
    [InlineData(",\"parts\":[{\"authority\":\"a\",\"rate\":\"0.09\"},{\"authority\":\"b\",\"rate\":\"-0.0075\"}]", "parts.rate", null)]
    public void An_entry_that_cannot_be_is_refused(string further, string field, string? right)
    {
        var (_, refusal) = CommandReader.Read(Line(further));
        Assert.Equal((RefusalCode.FieldInvalid, field, right), (refusal!.Code, refusal.Field, refusal.RightFigure));
    }

    [Theory]
    [InlineData(0, "0.00 0.00 0.00")]
    [InlineData(1, "0.01 0.00 0.00")]
    [InlineData(173, "1.36 0.26 0.11")]
    [InlineData(-173, "-1.36 -0.26 -0.11")]
    [InlineData(825, "6.50 1.25 0.50")]
    public void A_tax_is_split_without_a_cent_over(long tax, string shares) => Assert.Equal(
        shares, string.Join(' ', Entry(("the state", "0.065"), ("the county", "0.0125"), ("a district", "0.005")).Split("quay", new Money(tax)).Select(part => part.Amount)));

    [Fact]
    public void Of_equal_fractions_the_authority_given_first_has_the_cent()
    {
        var split = Entry(("b", "0.02"), ("a", "0.02"), ("c", "0.02")).Split("quay", new Money(200));
        Assert.Equal([("b", new Money(67)), ("a", new Money(67)), ("c", new Money(66))], split);
    }

    [Fact]
    public void Without_parts_the_jurisdiction_has_all_of_it() =>
        Assert.Equal([("quay", new Money(173))], Entry().Split("quay", new Money(173)));

    private static TaxEntry Entry(params (string Authority, string Rate)[] parts)
    {
        var all = parts.Select(part => new TaxPart(part.Authority, Rate.Parse(part.Rate))).ToArray();
        return new TaxEntry(Day, new Rate(all.Sum(part => part.Rate.Units)), TaxedParts.None, TaxRegime.EachPayment, [.. all]);
    }

    private static byte[] Line(string further) => Encoding.UTF8.GetBytes(
        $$"""{"do":"set-tax","key":"t","jurisdiction":"wexmoor","rate":"0.0825","from":"2026-09-05","taxes":{"rent":true}{{further}}}""");

    private static Money Sum(IEnumerable<OpenItem> items, string part) =>
        items.Where(item => item.Part == part).Aggregate(Money.Zero, (sum, item) => sum + item.Open);

    private static string Told(OpenItem item) => $"{item.Id} {item.Kind} {item.Part} {item.Open}";
}
