using Contracts.Explain;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Explain;

/// <summary>What a statement lists, worked out by hand: charges, payments, credits, refunds, and what takes each back.</summary>
public sealed class StatementTests
{
    [Fact]
    public void Each_movement_stands_with_its_amount_and_the_balance_after_it()
    {
        // Two months for 45.00, then 38.00 a month; a late fee of 5.00 after seven days; a returned payment brings 20.00.
        var statement = Of(
            """
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-11-14 waive fee=late:2026-11-05 reason=mail
            2026-11-15 pay amount=60.00 method=check
            2026-11-16 refund amount=10.00
            2026-11-20 reverse-payment payment=L4 code=R01 reason=bank
            2026-11-21 credit amount=3.00 reason=sorry
            """,
            "2026-11-01", "2026-11-30");
        Assert.Equal("0.00", statement.Opening.Balance.ToString());
        Assert.Equal(
            [
                "2026-11-05 charge installment:2026-11-05 38.00 38.00", "2026-11-13 charge late:2026-11-05 5.00 43.00", "2026-11-14 taken-back late:2026-11-05 -5.00 38.00",
                "2026-11-15 payment L4 -60.00 -22.00", "2026-11-16 refund L5 10.00 -12.00",
                // The whole payment is owed again; 10.00 of it were given back, which is part of it.
                "2026-11-20 charge returned:L6 20.00 8.00", "2026-11-20 reversal L6 60.00 68.00", "2026-11-21 goodwill L7 -3.00 65.00",
            ],
            Lines(statement));
        Assert.Equal(("65.00", "65.00", "0.00"), (statement.Closing.Balance.ToString(), statement.Closing.PastDue.ToString(), statement.Closing.GoodwillCredit.ToString()));
        Assert.Equal("installment due 2026-11-05: rent 38.00", statement.Movements[0].Says);
    }

    [Fact]
    public void A_span_begins_with_its_first_day_and_ends_with_its_last()
    {
        const string life = "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash";
        Assert.Equal(["2026-11-05 charge installment:2026-11-05 38.00 38.00"], Lines(Of(life, "2026-11-05", "2026-11-05")));
        var before = Of(life, "2026-11-06", "2026-11-12");
        Assert.Equal(("38.00", 0, "38.00"), (before.Opening.Balance.ToString(), before.Movements.Length, before.Closing.Balance.ToString()));
    }

    [Fact]
    public void Without_a_first_day_it_begins_with_the_signing()
    {
        var statement = Of("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash", null, "2026-09-30");
        Assert.Equal((new LocalDate(2026, 9, 5), StatementFigures.None), (statement.From, statement.Opening));
        Assert.Equal(["2026-09-05 charge installment:2026-09-05 45.00 45.00", "2026-09-05 payment L2 -45.00 0.00"], Lines(statement));
    }

    private static AccountStatement Of(string life, string? from, string through)
    {
        var shop = Script.Given(life).Shop;
        return AccountStatement.Of(shop.History("C-1"), shop.RatesAt(Instant.MaxValue), from is null ? null : Day(from), Day(through))!;
    }

    private static LocalDate Day(string text) => LocalDatePattern.Iso.Parse(text).Value;

    private static IEnumerable<string> Lines(AccountStatement statement) =>
        statement.Movements.Select(one => $"{LocalDatePattern.Iso.Format(one.On)} {one.Kind.Word()} {one.Id} {one.Amount} {one.Balance}");
}
