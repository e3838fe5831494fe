using Contracts.Agreements;
using Contracts.Bank;
using Contracts.Tests.Support;
using Xunit;
using static Contracts.Tests.Bank.BankLines;

namespace Contracts.Tests.Bank;

/// <summary>What a bank's line is about.</summary>
public sealed class MatchingTests
{
    [Theory]
    [InlineData("rent C-1042 october", null)]
    [InlineData("RENT c-1042", null)]
    [InlineData("", "C-1042")]
    [InlineData("C-1042/OCT", null)]
    public void A_line_that_names_one_contract_is_its_payment(string text, string? endToEnd)
    {
        var matched = Assert.IsType<Finding.Matched>(Matching.Find(In("41.04", text, endToEnd), BookOf(Standing("C-1042"), Standing("C-1043"))));
        Assert.Equal("C-1042", matched.Contract);
        Assert.Equal(new ContractCommand.Pay(Money.Parse("41.04"), "bank", endToEnd ?? "REF-1"), matched.Body);
    }

    [Fact]
    public void A_part_or_more_than_is_owed_is_a_payment_all_the_same() =>
        Assert.All(["10.00", "500.00"], amount => Assert.IsType<Finding.Matched>(Matching.Find(In(amount, "C-1042"), BookOf(Standing("C-1042")))));

    [Fact]
    public void The_payoff_of_a_contract_is_for_the_counter_to_take() =>
        Assert.Equal("C-1042", Assert.IsType<Finding.Proposed>(Matching.Find(In("700.00", "C-1042"), BookOf(Standing("C-1042")))).Candidates.Single().Contract);

    [Fact]
    public void Two_contracts_in_one_line_are_for_a_person() =>
        Assert.Equal(["C-1", "C-2"], Assert.IsType<Finding.Proposed>(Matching.Find(In("82.08", "C-2 C-1"), BookOf(Standing("C-1"), Standing("C-2")))).Candidates.Select(one => one.Contract));

    [Fact]
    public void A_contract_that_has_ended_and_owes_nothing_gets_nothing_by_itself()
    {
        Assert.IsType<Finding.Proposed>(Matching.Find(In("41.04", "C-1"), BookOf(Standing("C-1", open: false, nextDue: null))));
        Assert.IsType<Finding.Matched>(Matching.Find(In("41.04", "C-1"), BookOf(Standing("C-1", open: false, nextDue: null, pastDue: "41.04"))));
    }

    [Fact]
    public void A_bare_number_is_a_contract_only_where_the_amount_fits()
    {
        Assert.IsType<Finding.Matched>(Matching.Find(In("41.04", "2026 rent"), BookOf(Standing("2026"))));
        Assert.IsType<Finding.Proposed>(Matching.Find(In("40.00", "2026 rent"), BookOf(Standing("2026"))));
    }

    [Fact]
    public void A_household_that_is_named_pays_its_one_open_contract_or_the_one_that_owes_the_amount()
    {
        var book = BookOf(Standing("C-1", "H-77", nextDue: "41.04"), Standing("C-2", "H-77", nextDue: "54.00"), Standing("C-3", "H-78"), Standing("C-4", "H-78", open: false, nextDue: null));
        Assert.Equal("C-2", Assert.IsType<Finding.Matched>(Matching.Find(In("54.00", "family H-77"), book)).Contract);
        Assert.Equal(2, Assert.IsType<Finding.Proposed>(Matching.Find(In("50.00", "family H-77"), book)).Candidates.Length);
        Assert.Equal("C-3", Assert.IsType<Finding.Matched>(Matching.Find(In("50.00", "H-78"), book)).Contract);
    }

    [Fact]
    public void An_amount_alone_is_proposed_even_where_one_account_alone_owes_it()
    {
        var book = BookOf(Standing("C-1", nextDue: "41.04"), Standing("C-2", nextDue: "54.00"), Standing("C-3", pastDue: "41.04", nextDue: null));
        Assert.Equal(["C-2"], Assert.IsType<Finding.Proposed>(Matching.Find(In("54.00", "thank you"), book)).Candidates.Select(one => one.Contract));
        Assert.Equal(["C-1", "C-3"], Assert.IsType<Finding.Proposed>(Matching.Find(In("41.04", "thank you"), book)).Candidates.Select(one => one.Contract));
        // An installment weeks away is not what it is for; what is past due is owed on any day.
        Assert.Equal(["C-3"], Assert.IsType<Finding.Proposed>(Matching.Find(In("41.04", on: "2026-10-16"), book)).Candidates.Select(one => one.Contract));
        Assert.Equal(["C-1", "C-3"], Assert.IsType<Finding.Proposed>(Matching.Find(In("41.04", on: "2026-10-15"), book)).Candidates.Select(one => one.Contract));
        Assert.IsType<Finding.Unmatched>(Matching.Find(In("41.05", "thank you"), book));
    }

    [Fact]
    public void What_is_past_due_and_the_next_installment_together_are_owed() =>
        Assert.IsType<Finding.Proposed>(Matching.Find(In("51.04"), BookOf(Standing("C-1", pastDue: "10.00"))));

    [Fact]
    public void A_payment_that_the_counter_recorded_arrives_and_is_not_recorded_again()
    {
        var book = BookOf(Standing("C-1", payments: [Payment("C-1", "k-1", "check 1021")]), Standing("C-2", payments: [Payment("C-2", "k-2", "T-9"), Payment("C-2", "k-3", "T-9", "10.00")]));
        Assert.Equal(["k-1"], Assert.IsType<Finding.Arrived>(Matching.Find(In("41.04", "Check 1021"), book)).Payments.Select(one => one.Key));
        Assert.Equal(["k-2", "k-3"], Assert.IsType<Finding.Arrived>(Matching.Find(In("51.04", endToEnd: "T-9"), book)).Payments.Select(one => one.Key));
        Assert.Equal(2, Assert.IsType<Finding.Proposed>(Matching.Find(In("51.03", endToEnd: "T-9"), book)).Candidates.Length);
        book.Saw("k-1");
        Assert.IsNotType<Finding.Arrived>(Matching.Find(In("41.04", "Check 1021"), book));
    }

    [Fact]
    public void A_card_settlement_is_held_against_what_was_taken_before_the_fee()
    {
        var book = BookOf(Standing("C-1", payments: [Payment("C-1", "k-1", "batch-7", "41.04"), Payment("C-1", "k-2", "batch-7", "58.96")]));
        var line = In("97.10", reference: "batch-7") with { Gross = Money.Parse("100.00"), Fee = Money.Parse("2.90") };
        Assert.Equal(2, Assert.IsType<Finding.Arrived>(Matching.Find(line, book)).Payments.Length);
    }

    [Fact]
    public void A_payment_made_of_an_earlier_line_does_not_take_the_next_one_with_the_same_reference()
    {
        var book = BookOf(Standing("C-1042", payments: [Payment("C-1042", WaitingEntry.KeyOf("B-1"), "C-1042", on: "2026-09-04")]));
        Assert.IsType<Finding.Matched>(Matching.Find(In("41.04", endToEnd: "C-1042"), book));
    }

    [Theory]
    [InlineData("E-9", "")]
    [InlineData(null, "return of E-9")]
    [InlineData(null, "returned C-1")]
    [InlineData("k-1", "")]
    public void A_payment_that_came_back_is_reversed_with_its_code(string? endToEnd, string text)
    {
        var book = BookOf(Standing("C-1", payments: [Payment("C-1", "k-1", "E-9"), Payment("C-1", "k-2", "E-8", "10.00")]));
        var matched = Assert.IsType<Finding.Matched>(Matching.Find(Out("41.04", "R01", text, endToEnd), book));
        Assert.Equal(("C-1", new ContractCommand.ReversePayment("k-1", "R01")), (matched.Contract, matched.Body));
        Assert.Null(matched.Remark);
    }

    [Fact]
    public void A_return_after_its_time_frame_is_proposed()
    {
        // A Tuesday's payment has settled by Thursday, 17 September; two banking days later is Monday.
        var book = BookOf(Standing("C-1", payments: [Payment("C-1", "k-1", "E-9", on: "2026-09-15")]));
        Assert.IsType<Finding.Matched>(Matching.Find(Out("41.04", "R01", endToEnd: "E-9", on: "2026-09-21"), book));
        var late = Assert.IsType<Finding.Proposed>(Matching.Find(Out("41.04", "R01", endToEnd: "E-9", on: "2026-09-22"), book));
        Assert.Equal(("k-1", true), (late.Candidates.Single().Payment, late.Because.Contains("2026-09-21", StringComparison.Ordinal)));
        Assert.IsType<Finding.Matched>(Matching.Find(Out("41.04", "R10", endToEnd: "E-9", on: "2026-09-22"), book));
    }

    [Fact]
    public void A_return_of_another_amount_or_of_one_of_two_payments_is_proposed()
    {
        var book = BookOf(Standing("C-1", payments: [Payment("C-1", "k-1", null), Payment("C-1", "k-2", null)]));
        Assert.Equal(["k-1", "k-2"], Assert.IsType<Finding.Proposed>(Matching.Find(Out("41.04", "R01", "C-1"), book)).Candidates.Select(one => one.Payment));
        Assert.Equal(2, Assert.IsType<Finding.Proposed>(Matching.Find(Out("41.03", "R01", "C-1"), book)).Candidates.Length);
    }

    [Theory]
    [InlineData("R99", "not known")]
    [InlineData("AM04", "not known")]
    [InlineData("R29", "no reason for which a family's payment")]
    [InlineData(null, "without a return code")]
    public void A_return_that_cannot_be_one_is_unmatched_and_says_why(string? code, string because)
    {
        var book = BookOf(Standing("C-1", payments: [Payment("C-1", "k-1", "E-9")]));
        Assert.Contains(because, Assert.IsType<Finding.Unmatched>(Matching.Find(Out("41.04", code, "C-1", "E-9"), book)).Because, StringComparison.Ordinal);
    }

    [Fact]
    public void A_line_without_the_banks_reference_makes_no_command_by_itself() =>
        Assert.Equal("C-1042", Assert.IsType<Finding.Proposed>(Matching.Find(In("41.04", "C-1042", reference: null), BookOf(Standing("C-1042")))).Candidates.Single().Contract);

    [Fact]
    public void A_reference_of_words_is_not_kept_in_the_history() =>
        Assert.Equal("REF-1", ((ContractCommand.Pay)Assert.IsType<Finding.Matched>(Matching.Find(In("41.04", "C-1042", "Ash Quillon 2 rent"), BookOf(Standing("C-1042")))).Body).Reference);

    [Fact]
    public void A_faulty_line_and_one_of_nothing_are_unmatched()
    {
        Assert.Equal("its date cannot be read", Matching.Find(In("41.04", "C-1") with { Fault = "its date cannot be read" }, BookOf(Standing("C-1"))).Because);
        Assert.IsType<Finding.Unmatched>(Matching.Find(In("0.00", "C-1"), BookOf(Standing("C-1"))));
    }

    [Fact]
    public void A_standing_is_what_the_account_says()
    {
        var shop = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash reference=till-1\n2026-09-06 pay amount=5.00 method=check\n2026-09-07 reverse-payment payment=L3 code=R01 reason=bank").Shop;
        var contract = shop.Contracts.Single();
        var standing = BookOf(shop, "2026-10-06").Contract(contract).Single();
        var account = shop.Account(contract, Day("2026-10-06"))!;
        Assert.Equal((account.PastDue, account.NextDue, account.EarlyPurchase.Payoff, true), (standing.PastDue, standing.NextDue, standing.Payoff, standing.IsOpen));
        Assert.Equal(["L2"], standing.Payments.Select(one => one.Key));
    }
}
