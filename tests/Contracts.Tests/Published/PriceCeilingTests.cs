using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>
/// The two price ceilings against examples worked from the text of the sections. The rules were read in public copies
/// of the acts; the figures were made here, and neither act says how a fraction of a cent is rounded (the engine
/// rounds half away from zero; rounding down would give a cent less where noted).
/// </summary>
/// <remarks>Rent-to-own law varies by state and changes: not legal advice, ask local counsel.</remarks>
public sealed class PriceCeilingTests
{
    /// <summary>
    /// Haw. Rev. Stat. 481M-6: cash price x payments remaining / payments in all.
    /// Cash 899.00, 36 x 39.00, 12 paid: 899.00 x 24 / 36 = 599.333...
    /// Cash 899.00, 46 payments, 12 made: 899.00 x 34 / 46 = 664.478... (664.47 when rounded down).
    /// </summary>
    [Theory]
    [InlineData("1404.00", 12, "599.33")]
    [InlineData("1794.00", 12, "664.48")]
    public void Hawaii_caps_the_price_at_the_unpaid_fraction_of_the_cash_price(string total, int paid, string price)
    {
        var offer = AfterPaying("HI", "899.00", total, "39.00", paid).EarlyPurchase;
        Assert.Equal((price, "Haw. Rev. Stat. § 481M-6"), (offer.Price.ToString(), offer.Basis));
    }

    /// <summary>
    /// N.Y. Pers. Prop. Law 504: the same fraction, but never less than one periodic payment.
    /// Cash 360.00, 36 x 39.00, 34 paid: 360.00 x 2 / 36 = 20.00, so 39.00 (the shop's own price would be 78.00).
    /// Cash 900.00, 45 x 45.00, 43 paid: 900.00 x 2 / 45 = 40.00, so 45.00.
    /// </summary>
    [Theory]
    [InlineData("360.00", "1404.00", "39.00", 34, "39.00")]
    [InlineData("900.00", "2025.00", "45.00", 43, "45.00")]
    public void New_York_never_caps_below_one_payment(string cash, string total, string rent, int paid, string price)
    {
        var offer = AfterPaying("NY", cash, total, rent, paid).EarlyPurchase;
        Assert.Equal((price, "N.Y. Pers. Prop. Law § 504"), (offer.Price.ToString(), offer.Basis));
    }

    /// <summary>One payment before the end both sides are one payment: the price is the terms' own.</summary>
    [Fact]
    public void At_one_payment_left_terms_and_ceiling_are_equal_and_the_basis_is_the_terms()
    {
        var offer = AfterPaying("NY", "360.00", "1404.00", "39.00", 35).EarlyPurchase;
        Assert.Equal(("39.00", "terms"), (offer.Price.ToString(), offer.Basis));
    }

    /// <summary>Haw. Rev. Stat. 481M-7(d): one late fee for one late payment, however long it stays unpaid.</summary>
    [Fact]
    public void One_late_payment_brings_one_late_fee()
    {
        var account = Script.Given("2026-01-15 sign state=HI intro=0x0.00 price=38.00").On("2026-12-31");
        Assert.Single(account.OpenItems, item => item.Kind == "late");
    }

    private static Disclosures.Account AfterPaying(string state, string cash, string total, string rent, int paid)
    {
        var lines = new List<string> { $"2020-01-15 sign state={state} cash={cash} price={total} rent={rent} intro=0x0.00 tiers= late=0.00/0" };
        var day = new NodaTime.LocalDate(2020, 1, 15);
        for (var payment = 0; payment < paid; payment++)
        {
            lines.Add($"{day.PlusMonths(payment):uuuu-MM-dd} pay amount={rent} method=cash");
        }

        return Script.Given(string.Join('\n', lines)).On($"{day.PlusMonths(paid - 1).PlusDays(1):uuuu-MM-dd}");
    }
}
