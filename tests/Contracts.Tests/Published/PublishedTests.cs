using System.Globalization;
using System.Text.Json.Nodes;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>The engine against rules and figures that others have published; each example names its source.</summary>
public sealed class PublishedTests
{
    public static TheoryData<string> Prices => PublishedExamples.Ids("prices");

    public static TheoryData<string> DueDates => PublishedExamples.Ids("dueDates");

    public static TheoryData<string> Taxes => PublishedExamples.Ids("taxes");

    public static TheoryData<string> LateFees => PublishedExamples.Ids("lateFees");

    [Theory]
    [MemberData(nameof(Prices))]
    public void The_price_to_own_keeps_to_the_ceiling_of_the_act(string id)
    {
        var example = PublishedExamples.Find("prices", id);
        var rent = PublishedExamples.Text(example, "monthlyRent");
        var paid = (int)example["paid"]!;
        var start = new LocalDate(2026, 1, 5);
        var account = new PublishedExamples()
            .Sign(start, rent, PublishedExamples.Text(example, "purchasePrice"), PublishedExamples.Text(example, "cashPrice"),
                PublishedExamples.Text(example, "state"))
            .Pay(start, Money.Parse(rent).Times(paid))
            .On(start.PlusMonths(paid - 1));
        var expected = (JsonObject)example["expected"]!;
        Assert.Equal(
            (paid, (string)expected["price"]!, (string)expected["basis"]!),
            (account.Installments.Paid, account.EarlyPurchase.Price.ToString(), account.EarlyPurchase.Basis));
    }

    [Theory]
    [MemberData(nameof(DueDates))]
    public void Due_dates_are_counted_from_the_anchor_and_clamped_to_the_month(string id)
    {
        var example = PublishedExamples.Find("dueDates", id);
        var anchor = PublishedExamples.Date(PublishedExamples.Text(example, "anchor"));
        var due = ((JsonArray)example["due"]!).Select(day => PublishedExamples.Date((string)day!)).ToArray();
        var account = new PublishedExamples().Sign(anchor, "10.00", new Money(1000).Times(due.Length).ToString()).On(due[^1]);
        Assert.Equal(due, account.OpenItems.Select(item => item.DueOn));
    }

    [Theory]
    [MemberData(nameof(Taxes))]
    public void Tax_is_rounded_once_at_the_third_decimal_half_up(string id)
    {
        var example = PublishedExamples.Find("taxes", id);
        var amount = PublishedExamples.Text(example, "amount");
        var start = new LocalDate(2026, 1, 5);
        var account = new PublishedExamples().Sign(start, amount, amount, rate: PublishedExamples.Text(example, "rate")).On(start);
        Assert.Equal(PublishedExamples.Text(example, "tax"), Assert.Single(account.OpenItems, item => item.Part == "tax").Charged.ToString());
    }

    [Theory]
    [MemberData(nameof(LateFees))]
    public void One_installment_brings_one_late_fee_however_long_it_waits(string id)
    {
        var example = PublishedExamples.Find("lateFees", id);
        var rent = Money.Parse(PublishedExamples.Text(example, "monthlyRent"));
        var start = new LocalDate(2026, 1, 5);
        var last = start.PlusMonths(1);
        var account = new PublishedExamples()
            .Sign(start, rent.ToString(), rent.Times(2).ToString(), state: "HI", lateFee: PublishedExamples.Text(example, "fee"),
                graceDays: (int)example["graceDays"]!)
            .Pay(start, rent)
            .Pay(last, Money.Parse(PublishedExamples.Text(example, "paidOnTheLast")));
        Assert.All((JsonObject)example["pastDueAfterDays"]!, row => Assert.Equal(
            (string)row.Value!, account.On(last.PlusDays(int.Parse(row.Key, CultureInfo.InvariantCulture))).PastDue.ToString()));
    }

    [Fact]
    public void Every_example_names_its_source_and_who_made_its_figures() =>
        Assert.All(
            new[] { "prices", "dueDates", "taxes", "lateFees" }.SelectMany(PublishedExamples.Of),
            example =>
            {
                Assert.NotEmpty(PublishedExamples.Text(example, "source"));
                Assert.Contains(PublishedExamples.Text(example, "origin"), new[] { "published figures", "figures made here, rule read" });
            });
}
