using Contracts.Agreements;
using Contracts.Bank;
using Xunit;
using static Contracts.Tests.Bank.BankLines;

namespace Contracts.Tests.Bank;

/// <summary>The same money is neither recorded nor taken back twice, whoever recorded it first.</summary>
public sealed class TwiceTests
{
    [Theory]
    [InlineData("2026-09-25", false)]
    [InlineData("2026-09-24", true)]
    [InlineData("2026-10-15", false)]
    [InlineData("2026-10-16", true)]
    public void A_payment_of_the_amount_within_ten_days_makes_it_a_question(string paidOn, bool recorded)
    {
        var found = Matching.Find(In("41.04", "C-1"), BookOf(Standing("C-1", payments: [Payment("C-1", "k-1", null, on: paidOn)])));
        Assert.Equal(recorded, found is Finding.Matched);
        if (!recorded) { Assert.Equal([null, "k-1"], ((Finding.Proposed)found).Candidates.Select(one => one.Payment)); }
    }

    [Fact]
    public void A_second_line_of_the_same_file_is_held_against_what_the_first_made()
    {
        var book = BookOf(Standing("C-1"));
        Take(book, In("41.04", "C-1") with { Id = "B-1" });
        Assert.IsType<Finding.Proposed>(Matching.Find(In("41.04", "C-1") with { Id = "B-2" }, book));
        Assert.IsType<Finding.Matched>(Matching.Find(In("41.05", "C-1") with { Id = "B-2" }, book));
    }

    [Fact]
    public void A_return_in_the_file_of_its_payment_finds_it_once()
    {
        var book = BookOf(Standing("C-1"));
        Take(book, In("41.04", "C-1", reference: "REF-7") with { Id = "B-1" });
        var back = Out("41.04", "R01", "of REF-7");
        Assert.Equal(new ContractCommand.ReversePayment(WaitingEntry.KeyOf("B-1"), "R01"), Take(book, back).Body);
        Assert.IsType<Finding.Unmatched>(Matching.Find(back, book));
    }

    [Fact]
    public void A_payment_that_was_taken_back_already_is_not_taken_back_as_another_one()
    {
        var standing = Standing("C-1", payments: [Payment("C-1", "k-2", null, on: "2026-10-03")]);
        var back = Out("41.04", "R01", "C-1");
        Assert.IsType<Finding.Matched>(Matching.Find(back, BookOf(standing)));
        Assert.IsType<Finding.Proposed>(Matching.Find(back, BookOf(standing with { TakenBack = [Payment("C-1", "k-1", null, on: "2026-09-03")] })));
        Assert.IsType<Finding.Matched>(Matching.Find(back, BookOf(standing with { TakenBack = [Payment("C-1", "k-1", null, on: "2026-06-03")] })));
    }

    [Theory]
    [InlineData("ach", true)]
    [InlineData("bank", true)]
    [InlineData("cash", false)]
    [InlineData("card", false)]
    public void Only_what_came_through_the_bank_comes_back_through_it(string method, bool matched)
    {
        var book = BookOf(Standing("C-1", payments: [Payment("C-1", "k-1", "E-9") with { Method = method }]));
        Assert.Equal(matched, Matching.Find(Out("41.04", "R01", "C-1", "E-9"), book) is Finding.Matched);
    }

    [Fact]
    public void A_card_line_pays_what_was_taken_before_the_fee()
    {
        var line = In("39.85", "C-1") with { Gross = Money.Parse("41.04"), Fee = Money.Parse("1.19") };
        Assert.Equal(Money.Parse("41.04"), Assert.IsType<ContractCommand.Pay>(Assert.IsType<Finding.Matched>(Matching.Find(line, BookOf(Standing("C-1")))).Body).Amount);
    }

    private static Finding.Matched Take(ShopBook book, BankEntry entry)
    {
        var found = Assert.IsType<Finding.Matched>(Matching.Find(entry, book));
        book.Took(entry, found);
        return found;
    }
}
