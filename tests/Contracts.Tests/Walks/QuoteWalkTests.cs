using System.Globalization;
using Contracts.Tests.Reference;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>A quote over generated offers, held against families that sign them and do what the quote says.</summary>
public sealed class QuoteWalkTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "2000", CultureInfo.InvariantCulture) / 10;

    [Fact]
    public void Every_month_of_a_quote_is_the_account_of_that_day_folded_by_itself() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = OfferedLife.Generate(seed);
        life.SignAndPay("C-1", LocalDate.MaxIsoValue);
        Assert.Equal(life.Quote.Installments.Select(one => one.DueOn), life.Quote.Months.Select(month => month.On));
        foreach (var month in life.Quote.Months)
        {
            var account = life.Shop.Account("C-1", month.On)!;
            Assert.Equal((seed, month.On, Money.Zero, Money.Zero), (seed, month.On, account.PastDue, account.UnappliedCredit));
            Assert.Equal(
                (seed, month.PaidSoFar, month.Equity, month.PriceToOwn, month.Basis, month.PriceTax),
                (seed, account.Paid.Total, account.Equity, account.EarlyPurchase.Price, account.EarlyPurchase.Basis, account.EarlyPurchase.Tax));
            Assert.Equal((seed, life.Quote.TotalCost, life.Quote.CostOfRental), (seed, account.TotalCost, account.CostOfRental));
        }

        Assert.Equal((seed, "owned"), (seed, life.Shop.Account("C-1", life.Quote.Months[^1].On)!.Status));
    }, iter: Lives);

    [Fact]
    public void A_family_that_buys_or_returns_on_a_quoted_day_has_paid_what_the_quote_says() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = OfferedLife.Generate(seed);
        var open = life.Quote.Months[..^1];
        if (open.IsEmpty) { return; }
        var month = open[seed % open.Length];
        life.SignAndPay("C-buys", month.On);
        life.Say(life.Command("buy", "C-buys", month.On, ("amount", (month.PriceToOwn + month.PriceTax).ToString()), ("method", "card")));
        var bought = life.Shop.Account("C-buys", month.On)!;
        Assert.Equal((seed, "owned", month.TotalIfBought), (seed, bought.Status, bought.Paid.Total));

        life.SignAndPay("C-returns", month.On);
        life.Say(life.Command("return", "C-returns", month.On.PlusDays(1)));
        var returned = life.Shop.Account("C-returns", month.On.PlusMonths(6))!;
        Assert.Equal(
            (seed, "returned", Money.Zero, month.RefundIfReturned, month.CostIfReturned),
            (seed, returned.Status, returned.PastDue, returned.UnappliedCredit, returned.Paid.Total));
    }, iter: Lives);

    [Fact]
    public void The_second_fold_agrees_with_the_quote() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = OfferedLife.Generate(seed);
        life.SignAndPay("C-1", LocalDate.MaxIsoValue);
        var accepted = life.Shop.Accepted.Select(line => new AcceptedCommand(line.Command, line.At, line.Sequence)).ToList();
        var month = life.Quote.Months[seed % life.Quote.Months.Length];
        var account = NaiveReference.Account(accepted, "C-1", month.On, Instant.MaxValue, InMemoryShop.Zone)!;
        Assert.Equal(
            (seed, month.PaidSoFar.ToString(), month.Equity.ToString(), month.PriceToOwn.ToString(), month.Basis, month.PriceTax.ToString()),
            (seed, (string)account["paid"]!["total"]!, (string)account["equity"]!, (string)account["earlyPurchase"]!["price"]!,
                (string)account["earlyPurchase"]!["basis"]!, (string)account["earlyPurchase"]!["tax"]!));
    }, iter: Lives / 2);

    [Fact]
    public void The_installments_and_the_accessories_add_up_to_what_is_paid_to_term() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var quote = OfferedLife.Generate(seed).Quote;
        var rents = quote.Installments.Aggregate(Money.Zero, (sum, one) => sum + one.Rent);
        var rest = quote.Installments.Aggregate(Money.Zero, (sum, one) => sum + one.Plan + one.Tax);
        Assert.Equal((seed, quote.TotalCost), (seed, rents));
        Assert.Equal((seed, quote.TotalToTerm), (seed, rents + rest + quote.Accessories.Total));
        Assert.Equal((seed, quote.TotalToTerm, "none"), (seed, quote.Months[^1].TotalIfBought, quote.Months[^1].Basis));
    }, iter: Lives);
}
