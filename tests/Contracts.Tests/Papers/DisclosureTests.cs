using Contracts.Law;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Papers;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Papers;

/// <summary>The closed list of what can be asked for on an agreement, and the lines that answer.</summary>
public sealed class DisclosureTests
{
    private const string Codes =
        "PARTIES_DATE PROPERTY_DESC PROPERTY_DAMAGE NEW_USED CASH_PRICE PAYMENT_AMOUNT_TIMING PAYMENT_COUNT TOTAL_OF_PAYMENTS COST_OF_RENTAL "
        + "INITIAL_PAYMENT OTHER_CHARGES_ITEMIZED OTHER_CHARGES_EXCLUDED TAX NO_OWNERSHIP_UNTIL_PAID LOSS_LIABILITY WAIVER_OPTIONAL EPO_STATEMENT "
        + "REINSTATEMENT_NOTICE MAINTENANCE WARRANTY_TRANSFER TERMINATION_RIGHT SIGNING_NOTICE RECEIPT_RIGHT DEPOSIT_TERMS INSURANCE_TERMS "
        + "DEFAULT_TERMS REPOSSESSION_TERMS TRANSACTION_TYPE APR_IMPUTED PRIOR_AGREEMENT_CREDIT ITEM_HISTORY REMAINING_TOTAL EPO_PRICE_NOW PAID_NOW "
        + "DUE_THIS_PERIOD LOCATION";

    [Fact]
    public void The_codes_of_the_items_are_those_that_law_packs_use() =>
        Assert.Equal(Codes.Split(' '), Enum.GetValues<DisclosureItem>().Select(item => item.Code()));

    [Fact]
    public void Every_item_has_a_heading_of_its_own_and_is_found_by_its_code()
    {
        var items = Enum.GetValues<DisclosureItem>();
        Assert.Equal(items.Length, items.Select(item => item.Heading()).Distinct().Count());
        Assert.All(items, item => Assert.Equal(item, DisclosureItems.Read(item.Code())));
        Assert.Null(DisclosureItems.Read("NO_SUCH_ITEM"));
    }

    [Fact]
    public void What_signing_data_cannot_say_is_missing_and_gets_no_line()
    {
        var data = Data("2026-09-05 sign");
        Assert.Equal(
            [DisclosureItem.AprImputed, DisclosureItem.ItemHistory, DisclosureItem.PaidNow, DisclosureItem.Location],
            DisclosureSheet.Missing(Enum.GetValues<DisclosureItem>(), data));
        Assert.Empty(DisclosureSheet.Missing(PaperMaker.OnEveryAgreement, data));
        Assert.Equal(PaperMaker.OnEveryAgreement.Length, DisclosureSheet.Lines(PaperMaker.OnEveryAgreement, data).Length);
        // A law pack that asks for more than there is learns so.
        Assert.Equal([DisclosureItem.AprImputed], DisclosureSheet.Missing([DisclosureItem.CashPrice, DisclosureItem.AprImputed], data));
    }

    /// <summary>1195.00: one payment of 45.00, thirty of 38.00, one of 10.00 (docs/money.md, M24).</summary>
    [Theory]
    [InlineData(DisclosureItem.PaymentCount, "32 payments to ownership")]
    [InlineData(DisclosureItem.TotalOfPayments, "$1,195.00")]
    [InlineData(DisclosureItem.CostOfRental, "$95.00")]
    [InlineData(DisclosureItem.CashPrice, "$1,100.00")]
    [InlineData(DisclosureItem.PaymentAmountTiming, "1 payment of $45.00 on September 5, 2026; 30 monthly payments of $38.00 from November 5, 2026 to April 5, 2029; 1 payment of $10.00 on May 5, 2029")]
    [InlineData(DisclosureItem.EpoStatement, "40 % less before December 5, 2026, 30 % less before September 5, 2027, 25 % less after that")]
    [InlineData(DisclosureItem.WaiverOptional, "$7.00 a month. You have elected it")]
    [InlineData(DisclosureItem.Tax, "8 % in taxed on rent, the protection plan, fees, accessories and an early purchase")]
    // 45.00 x 1.08 and accessories 24.90 x 1.08 = 26.89.
    [InlineData(DisclosureItem.InitialPayment, "$75.49 is due on the day of signing")]
    [InlineData(DisclosureItem.DueThisPeriod, "$48.60 on September 5, 2026")]
    [InlineData(DisclosureItem.PropertyDesc, "One clarinet, serial number HC-1.")]
    [InlineData(DisclosureItem.NewUsed, "The instrument is used.")]
    [InlineData(DisclosureItem.OtherChargesItemized, "stand, $24.90 once; a late fee, $5.00 once for a payment still unpaid 7 days")]
    [InlineData(DisclosureItem.RemainingTotal, "$1,195.00 at signing")]
    [InlineData(DisclosureItem.EpoPriceNow, "$690.00 on September 5, 2026")]
    public void A_line_says_what_was_signed(DisclosureItem item, string says) =>
        Assert.Contains(says, DisclosureSheet.Line(item, Data("2026-09-05 sign cash=1100.00 area=taxed elected=yes accessories=24.90 condition=used")), StringComparison.Ordinal);

    [Fact]
    public void A_tax_that_is_due_at_delivery_is_told_as_due_with_the_first_payment() =>
        Assert.EndsWith(
            "The tax on all rents is due with the first payment.",
            DisclosureSheet.Line(DisclosureItem.Tax, Data("2026-09-05 sign area=delivery")), StringComparison.Ordinal);

    [Fact]
    public void A_sheet_that_was_printed_in_earlier_words_keeps_them()
    {
        // Haw. Rev. Stat. § 481M-14(a)(3) limits a loss: the first words did not say so, and printed any condition.
        var data = Data("2026-09-05 sign state=HI");
        Assert.Contains("or what Haw. Rev. Stat. § 481M-14(a)(3) allows", DisclosureSheet.Line(DisclosureItem.LossLiability, data), StringComparison.Ordinal);
        Assert.DoesNotContain("481M-14", DisclosureSheet.Line(DisclosureItem.LossLiability, data with { Form = 1 }), StringComparison.Ordinal);
        var odd = Data("2026-09-05 sign state=NY condition=odd");
        Assert.Equal((null, "The instrument is odd."), (DisclosureSheet.Line(DisclosureItem.NewUsed, odd), DisclosureSheet.Line(DisclosureItem.NewUsed, odd with { Form = 1 })));
    }

    private static SigningData Data(string life)
    {
        var shop = Script.Given(life).Shop;
        var rates = shop.RatesAt(Instant.MaxValue);
        return SigningData.Of(AccountFold.At(shop.History("C-1"), rates, new LocalDate(2026, 9, 5))!, Instant.FromUtc(2026, 9, 5, 16, 0), rates);
    }
}
