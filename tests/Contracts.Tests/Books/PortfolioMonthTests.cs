using Contracts.Books;
using Contracts.Books.Depreciation;
using Contracts.Books.Month;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Books;

/// <summary>What a month gathers from all contracts does not depend on the order in which they come.</summary>
public sealed class PortfolioMonthTests
{
    [Theory]
    [InlineData("A-1", "Z-1", "2026-01-26")]
    [InlineData("Z-1", "A-1", "2026-01-26")]
    [InlineData("A-1", "Z-1", "2026-01-25")]
    [InlineData("Z-1", "A-1", "2026-01-25")]
    public void A_unit_found_on_one_contract_and_sold_on_another_has_left_whatever_their_ids(string finder, string buyer, string sold)
    {
        var shop = new InMemoryShop();
        Say(shop, """{"do":"set-tax","key":"t","at":"2026-01-01T15:00:00Z","jurisdiction":"j","rate":"0","from":"2026-01-01","taxes":{}}""");
        Sign(shop, finder, "2026-01-05");
        Say(shop, $$"""{"do":"report-loss","key":"l","at":"2026-01-20T15:00:00Z","contract":"{{finder}}","on":"2026-01-20","kind":"lost"}""");
        Say(shop, $$"""{"do":"return","key":"r","at":"2026-01-25T15:00:00Z","contract":"{{finder}}","on":"2026-01-25"}""");
        Sign(shop, buyer, sold);
        Say(shop, $$"""{"do":"buy","key":"b","at":"{{sold}}T15:00:00Z","contract":"{{buyer}}","on":"{{sold}}","amount":"600.00","method":"cash"}""");

        var last = new LocalDate(2026, 1, 31);
        var portfolio = new PortfolioMonth(new LocalDate(2026, 1, 1), last);
        foreach (var contract in shop.Contracts)
        {
            portfolio.Add(shop.History(contract), BookedAccount.At(shop.History(contract), shop.RatesAt(Instant.MaxValue), last)!, isBilled: true);
        }

        var unit = Assert.Single(portfolio.Fleet(PropertyClass.ThreeYear));
        Assert.Equal((new LocalDate(2026, 1, 5), NodaTime.Text.LocalDatePattern.Iso.Parse(sold).Value), (unit.PlacedInServiceOn, unit.DisposedOn));
        Assert.False(portfolio.WasLost("S-1"));
    }

    private static void Sign(InMemoryShop shop, string contract, string on) => Say(shop, $$$"""
        {"do":"sign","key":"{{{contract}}}","at":"{{{on}}}T15:00:00Z","contract":"{{{contract}}}","on":"{{{on}}}","household":"h","instrument":{"kind":"flute","serial":"S-1","condition":"new","cost":"400.00"},"state":"OH","jurisdiction":"j","startOn":"{{{on}}}","terms":{"cashPrice":"600.00","purchasePrice":"600.00","monthlyRent":"30.00","creditShare":"1.00"}}
        """.Trim());

    private static void Say(InMemoryShop shop, string line) => Assert.Null(shop.Apply(line)?.Detail);
}
