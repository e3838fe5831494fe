using Contracts.Bank;
using Xunit;
using static Contracts.Tests.Bank.BankLines;

namespace Contracts.Tests.Bank;

/// <summary>A family's one payment over two contracts that comes back as one line.</summary>
public sealed class FamilyReturnTests
{
    private static readonly KnownPayment First = Payment("C-1", "k:C-1", "CHK-9", "30.00") with { Method = "check" };
    private static readonly KnownPayment Second = Payment("C-2", "k:C-2", "CHK-9", "25.20") with { Method = "check" };

    [Fact]
    public void What_each_contract_got_of_it_is_taken_back()
    {
        var book = BookOf(Standing("C-1", payments: [First]), Standing("C-2", payments: [Second]));
        var line = Out("55.20", "R01", "CHK-9");
        var back = Assert.IsType<Finding.CameBack>(Matching.Find(line, book));
        Assert.Equal(("R01", "C-1 k:C-1 30.00; C-2 k:C-2 25.20"), (back.Code, string.Join("; ", back.Payments.Select(one => $"{one.Contract} {one.Key} {one.Amount}"))));
        // The next line of the file finds nothing of it any more.
        book.Took(line, back);
        Assert.IsNotType<Finding.CameBack>(Matching.Find(line with { Id = "B-2" }, book));
    }

    [Theory]
    [InlineData("H-2", "2026-10-02", "check", "C-2", "55.20", "2026-10-05")]
    [InlineData("H-1", "2026-10-01", "check", "C-2", "55.20", "2026-10-05")]
    [InlineData("H-1", "2026-10-02", "ach", "C-2", "55.20", "2026-10-05")]
    [InlineData("H-1", "2026-10-02", "cash", "C-2", "55.20", "2026-10-05")]
    [InlineData("H-1", "2026-10-02", "check", "C-1", "55.20", "2026-10-05")]
    [InlineData("H-1", "2026-10-02", "check", "C-2", "55.21", "2026-10-05")]
    [InlineData("H-1", "2026-10-02", "check", "C-2", "55.20", "2026-12-05")]
    public void Where_it_may_be_something_else_a_person_looks(string household, string on, string method, string contract, string amount, string booked)
    {
        var second = Payment(contract, "k:2", "CHK-9", "25.20", on) with { Method = method };
        var book = contract == "C-1"
            ? BookOf(Standing("C-1", payments: [First, second]))
            : BookOf(Standing("C-1", payments: [First]), Standing("C-2", household, payments: [second]));
        Assert.IsType<Finding.Proposed>(Matching.Find(Out(amount, "R01", "CHK-9", on: booked), book));
    }

    [Fact]
    public void A_line_that_could_not_be_told_from_another_is_proposed_with_both()
    {
        var book = BookOf(Standing("C-1", payments: [First]), Standing("C-2", payments: [Second]));
        var found = Assert.IsType<Finding.Proposed>(Matching.Find(Out("55.20", "R01", "CHK-9", reference: null), book));
        Assert.Equal(["k:C-1", "k:C-2"], found.Candidates.Select(one => one.Payment));
    }
}
