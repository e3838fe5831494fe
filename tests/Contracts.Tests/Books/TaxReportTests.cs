using System.Collections.Immutable;
using Contracts.Books;
using Contracts.Books.Month;
using Contracts.Books.Packet;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Books;

/// <summary>What a month says to whoever prepares the sales-tax returns; figures worked out by hand.</summary>
public sealed class TaxReportTests
{
    private const string Receipts = "jurisdiction receipts taxed takenBack netTaxed untaxed late";
    private const string Authorities = "jurisdiction authority rate base costBase charged takenBack onCost net late";

    [Fact]
    public void What_was_charged_stands_by_kind_and_its_tax_by_authority() => MonthScript.Given("""
        2026-09-05 sign area=three intro=0x0.00 elected=yes accessories=24.90
        2026-09-20 pay amount=60.00 method=card
        2026-10-02 close 2026-09
        """).ThenChecked("2026-09").ThenRows("2026-09", "taxable-receipts", Receipts, """
        three | rent | 38.00 | 0.00 | 38.00 | 0.00 | 0.00
        three | protection plan | 7.00 | 0.00 | 7.00 | 0.00 | 0.00
        three | fees | 5.00 | 0.00 | 5.00 | 0.00 | 0.00
        three | accessories | 24.90 | 0.00 | 24.90 | 0.00 | 0.00
        three | receipts | 74.90 | 0.00 | 74.90 | 0.00 | 0.00
        total |  | 74.90 | 0.00 | 74.90 | 0.00 | 0.00
        """).ThenRows("2026-09", "tax-by-authority", Authorities, """
        three | a city | 0.005 | 74.90 | 0.00 | 0.38 | 0.00 | 0.00 | 0.38 | 0.00
        three | a county | 0.0125 | 74.90 | 0.00 | 0.93 | 0.00 | 0.00 | 0.93 | 0.00
        three | a state | 0.065 | 74.90 | 0.00 | 4.87 | 0.00 | 0.00 | 4.87 | 0.00
        total |  |  |  |  | 6.18 | 0.00 | 0.00 | 6.18 | 0.00
        """);

    /// <summary>38.00 at 8.25 % is 3.135, so 3.14 on each contract; 76.00 would be 6.27.</summary>
    [Fact]
    public void The_tax_of_a_sum_is_not_asked_for_since_each_charge_was_rounded_by_itself() => MonthScript.Given("""
        2026-09-05 sign area=three intro=0x0.00 late=0.00/7
        2026-09-06 sign contract=C-2 serial=HC-2 area=three intro=0x0.00 late=0.00/7
        2026-10-02 close 2026-09
        """).ThenChecked("2026-09").ThenRows("2026-09", "tax-by-authority", "authority base charged", """
        a city | 76.00 | 0.38
        a county | 76.00 | 0.96
        a state | 76.00 | 4.94
        |  | 6.28
        """);

    [Fact]
    public void Rents_taxed_at_delivery_count_when_the_term_begins_and_what_is_not_kept_is_taken_back() => MonthScript.Given("""
        2026-09-05 sign area=delivery
        2026-09-05 pay amount=140.60 method=card
        2026-10-02 close 2026-09
        2026-10-10 return condition=good
        2026-11-02 close 2026-10
        """).ThenChecked("2026-09").ThenChecked("2026-10").ThenRows("2026-09", "taxable-receipts", Receipts, """
        delivery | rent taxed at delivery before | 0.00 | 0.00 | 0.00 | 45.00 | 0.00
        delivery | rents of a term, taxed at delivery | 1195.00 | 0.00 | 1195.00 | 0.00 | 0.00
        delivery | receipts | 1195.00 | 0.00 | 1195.00 | 45.00 | 0.00
        total |  | 1195.00 | 0.00 | 1195.00 | 45.00 | 0.00
        """).ThenRows("2026-10", "taxable-receipts", Receipts, """
        delivery | rents of a term, taxed at delivery | 45.00 | -1195.00 | -1150.00 | 0.00 | 0.00
        delivery | receipts | 45.00 | -1195.00 | -1150.00 | 0.00 | 0.00
        total |  | 45.00 | -1195.00 | -1150.00 | 0.00 | 0.00
        """).ThenRows("2026-10", "tax-by-authority", Authorities, """
        delivery | delivery | 0.08 | -1150.00 | 0.00 | 3.60 | -95.60 | 0.00 | -92.00 | 0.00
        total |  |  |  |  | 3.60 | -95.60 | 0.00 | -92.00 | 0.00
        """);

    [Fact]
    public void A_price_whose_rents_were_taxed_at_delivery_bears_no_tax_and_says_why() => MonthScript.Given("""
        2026-09-05 sign area=delivery tiers=*:0.00
        2026-09-05 pay amount=140.60 method=card
        2026-09-20 buy amount=1150.00 method=card
        2026-10-02 close 2026-09
        """).ThenChecked("2026-09").ThenRows("2026-09", "taxable-receipts", "receipts taxed untaxed", """
        rent taxed at delivery before | 0.00 | 45.00
        rents of a term, taxed at delivery | 1195.00 | 0.00
        purchase price, its rents taxed at delivery | 0.00 | 1150.00
        receipts | 1195.00 | 1195.00
        | 1195.00 | 1195.00
        """);

    [Fact]
    public void The_cost_of_a_unit_is_taxed_to_the_shop_and_is_no_receipt() => MonthScript.Given("""
        2026-09-05 sign area=lessor cost=400.00 late=0.00/7
        2026-10-02 close 2026-09
        """).ThenChecked("2026-09").ThenRows("2026-09", "taxable-receipts", Receipts, """
        lessor | rent | 0.00 | 0.00 | 0.00 | 45.00 | 0.00
        lessor | receipts | 0.00 | 0.00 | 0.00 | 45.00 | 0.00
        lessor | cost of units, taxed to the shop | 400.00 | 0.00 | 400.00 | 0.00 | 0.00
        total |  | 0.00 | 0.00 | 0.00 | 45.00 | 0.00
        """).ThenRows("2026-09", "tax-by-authority", Authorities, """
        lessor | lessor | 0.0625 | 0.00 | 400.00 | 0.00 | 0.00 | 25.00 | 25.00 | 0.00
        total |  |  |  |  | 0.00 | 0.00 | 25.00 | 25.00 | 0.00
        """);

    [Fact]
    public void Under_a_tax_on_the_net_price_rents_are_not_taxed_and_the_price_is() => MonthScript.Given("""
        2026-09-05 sign area=net tiers=*:0.00
        2026-09-05 pay amount=45.00 method=card
        2026-09-20 buy amount=1233.38 method=card
        2026-10-02 close 2026-09
        """).ThenChecked("2026-09").ThenRows("2026-09", "taxable-receipts", "receipts taxed untaxed", """
        rent | 0.00 | 45.00
        purchase price | 1150.00 | 0.00
        receipts | 1150.00 | 45.00
        | 1150.00 | 45.00
        """).ThenRows("2026-09", "tax-by-authority", "authority rate base net", """
        net | 0.0725 | 1150.00 | 83.38
        |  |  | 83.38
        """);

    [Fact]
    public void A_place_that_taxes_nothing_has_receipts_and_no_authority_and_a_loss_charge_is_never_taxed() => MonthScript.Given("""
        2026-09-05 sign late=0.00/7
        2026-09-06 sign contract=C-2 serial=HC-2 area=taxed late=0.00/7 tiers=*:0.00
        2026-09-20 report-loss contract=C-2 kind=lost
        2026-10-02 close 2026-09
        """).ThenChecked("2026-09").ThenRows("2026-09", "taxable-receipts", "jurisdiction receipts taxed untaxed", """
        taxed | rent | 45.00 | 0.00
        taxed | loss charges | 0.00 | 1150.00
        taxed | receipts | 45.00 | 1150.00
        untaxed | rent | 0.00 | 45.00
        untaxed | receipts | 0.00 | 45.00
        total |  | 45.00 | 1195.00
        """).ThenRows("2026-09", "tax-by-authority", "jurisdiction authority net", """
        taxed | taxed | 3.60
        total |  | 3.60
        """);

    /// <summary>A part counts as taxed where its entry taxes it, also when the tax on a few cents is nothing.</summary>
    [Fact]
    public void Cents_whose_tax_rounds_to_nothing_are_taxed_receipts() => MonthScript.Given("""
        2026-09-05 sign area=taxed intro=1x0.05 late=0.00/7
        2026-10-02 close 2026-09
        """).ThenChecked("2026-09").ThenRows("2026-09", "tax-by-authority", "authority base charged", """
        taxed | 0.05 | 0.00
        |  | 0.00
        """);

    [Fact]
    public void A_fee_waived_late_is_taken_back_in_the_open_month_and_named_as_of_a_closed_one() => MonthScript.Given("""
        2026-09-05 sign area=three intro=0x0.00
        2026-09-20 pay amount=60.00 method=card
        2026-10-02 close 2026-09
        2026-09-21 @2026-10-03 waive fee=late:2026-09-05 reason=kindness
        2026-10-05 pay amount=60.00 method=card
        2026-11-02 close 2026-10
        """).ThenChecked("2026-10").ThenRows("2026-10", "taxable-receipts", Receipts, """
        three | rent | 38.00 | 0.00 | 38.00 | 0.00 | 0.00
        three | fees | 0.00 | -5.00 | -5.00 | 0.00 | -5.00
        three | receipts | 38.00 | -5.00 | 33.00 | 0.00 | -5.00
        total |  | 38.00 | -5.00 | 33.00 | 0.00 | -5.00
        """).ThenRows("2026-10", "tax-by-authority", "authority base charged takenBack net late", """
        a city | 33.00 | 0.19 | -0.03 | 0.16 | -0.03
        a county | 33.00 | 0.48 | -0.06 | 0.42 | -0.06
        a state | 33.00 | 2.47 | -0.32 | 2.15 | -0.32
        |  | 3.14 | -0.41 | 2.73 | -0.41
        """);

    /// <summary>What the closed month had charged is not charged again: a return learned late takes it out of the open month.</summary>
    [Fact]
    public void A_return_learned_late_takes_the_rent_of_a_closed_month_out_of_the_next() => MonthScript.Given("""
        2026-09-05 sign area=taxed intro=0x0.00 late=0.00/7
        2026-10-02 close 2026-09
        2026-11-02 close 2026-10
        2026-09-28 @2026-11-03 return condition=good
        2026-12-02 close 2026-11
        """).ThenChecked("2026-11").ThenRows("2026-10", "taxable-receipts", "receipts taxed late", """
        rent | 38.00 | 0.00
        receipts | 38.00 | 0.00
        | 38.00 | 0.00
        """).ThenRows("2026-11", "taxable-receipts", Receipts, """
        taxed | rent | -38.00 | 0.00 | -38.00 | 0.00 | -38.00
        taxed | receipts | -38.00 | 0.00 | -38.00 | 0.00 | -38.00
        total |  | -38.00 | 0.00 | -38.00 | 0.00 | -38.00
        """);

    [Fact]
    public void A_contract_signed_late_brings_its_closed_month_along() => MonthScript.Given("""
        2026-09-01 sign area=untaxed late=0.00/7
        2026-10-02 close 2026-09
        2026-09-05 @2026-10-03 sign contract=C-2 serial=HC-2 area=taxed intro=0x0.00 late=0.00/7
        2026-11-02 close 2026-10
        """).ThenChecked("2026-10").ThenRows("2026-10", "tax-by-authority", "authority base charged late", """
        taxed | 76.00 | 6.08 | 3.04
        |  | 6.08 | 3.04
        """);

    [Fact]
    public void What_is_about_the_last_day_of_a_closed_month_is_late_and_what_is_about_the_first_day_of_the_open_one_is_not() => MonthScript.Given("""
        2026-09-01 sign area=taxed intro=0x0.00 late=0.00/7
        2026-10-02 close 2026-09
        2026-09-30 @2026-10-03 sign contract=C-2 serial=HC-2 area=net intro=0x0.00 late=0.00/7 accessories=10.00
        2026-09-30 @2026-10-03 sign contract=C-3 serial=HC-3 area=sale-only intro=0x0.00 late=0.00/7 accessories=10.00
        2026-11-02 close 2026-10
        """).ThenChecked("2026-10").ThenRows("2026-10", "taxable-receipts", "jurisdiction receipts taxed untaxed late", """
        net | rent | 0.00 | 76.00 | 0.00
        net | accessories | 0.00 | 10.00 | 0.00
        net | receipts | 0.00 | 86.00 | 0.00
        sale-only | rent | 0.00 | 76.00 | 0.00
        sale-only | accessories | 10.00 | 0.00 | 10.00
        sale-only | receipts | 10.00 | 76.00 | 10.00
        taxed | rent | 38.00 | 0.00 | 0.00
        taxed | receipts | 38.00 | 0.00 | 0.00
        total |  | 48.00 | 162.00 | 10.00
        """);

    [Fact]
    public void A_close_is_told_when_tax_payable_moved_by_anything_but_the_tax_of_the_charges()
    {
        var figures = MonthScript.Given("""
            2026-09-05 sign area=three late=0.00/7
            2026-10-02 close 2026-09
            """).Figures;
        var failed = Assert.Single(Checks(figures, BookAccount.SalesTaxPayable, Movement.Charged, Movement.ChargeReversed), check => !check.Passed);
        Assert.Equal("Net tax by authority is what sales tax payable moved by", failed.Name);
        Assert.Equal("2 sums differ; a state charged 1.92 posted, 2.92 on the charges", failed.Detail);
        Assert.All(Checks(figures, BookAccount.SalesTaxPayable, Movement.Charged, Movement.Charged), check => Assert.True(check.Passed));
    }

    [Fact]
    public void A_close_is_told_when_something_charged_is_no_receipt()
    {
        var figures = MonthScript.Given("""
            2026-09-05 sign area=three late=0.00/7
            2026-10-02 close 2026-09
            """).Figures;
        var failed = Assert.Single(Checks(figures, BookAccount.DeferredRent, Movement.Charged, Movement.Released), check => !check.Passed);
        Assert.Equal(("Receipts, taxed and not, are what was charged", "44.00 and 45.00, a difference of -1.00"), (failed.Name, failed.Detail));
    }

    /// <summary>The checks after a dollar went from one reason of an account to another: no balance has changed.</summary>
    private static ImmutableArray<Check> Checks(MonthEndFigures figures, BookAccount account, Movement from, Movement to)
    {
        var authority = figures.Totals.During.First(total => total.Account == account && total.Movement == from && total.Authority is "" or "a state").Authority;
        var totals = figures.Totals.With(
            [new AccountTotal(account, from, authority, new Money(100)), new AccountTotal(account, to, authority, new Money(-100))]);
        return PacketMaker.Make(figures with { Totals = totals }, Chart.Standard).Checks;
    }
}
