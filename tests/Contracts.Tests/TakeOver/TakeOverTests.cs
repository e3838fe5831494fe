using System.Text;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.TakeOver;
using NodaTime;
using Xunit;
using static Contracts.Tests.TakeOver.BookPages;

namespace Contracts.Tests.TakeOver;

/// <summary>A book of the shop's own becomes commands on their original days, and what they make is held against what the shop says.</summary>
public sealed class TakeOverTests
{
    [Fact]
    public void The_mark_of_a_line_is_its_key_and_nobody_can_send_one()
    {
        var mark = new TakenOver("old-sheets", "0123456789abcdef", false, 12, TakenOver.DeemedOn(new LocalDate(2026, 9, 5)));
        Assert.Equal("taken-over:old-sheets:0123456789abcdef:c12:deemed-2026-09-05", mark.Key);
        Assert.Equal(mark, TakenOver.Of(mark.Key));
        Assert.True(TakenOver.Of(mark.Key)!.IsDeemed);
        Assert.Equal("taken over from book 'old-sheets', line 12 of its contracts, deemed paid on the day it was due", mark.Words);
        Assert.Equal((true, 7L, false), (TakenOver.Of("taken-over:b:0123456789abcdef:p7") is { } paid ? (paid.IsPayment, paid.Line, paid.IsDeemed) : default));
        Assert.All(new[] { "sign-1", "taken-over:b", "taken-over:b:0123:c1", "x-taken-over:b:0123456789abcdef:c1" }, key => Assert.Null(TakenOver.Of(key)));
        Assert.Equal(RefusalCode.FieldInvalid, ReservedKeys.Fault(mark.Key)!.Code);
    }

    [Fact]
    public void A_line_becomes_a_signing_on_its_own_day_with_its_terms()
    {
        var contract = Read(Contract(4, null, ("introductoryMonths", "2"), ("introductoryPayment", "20.00"), ("planEndedOn", "2026-07-01"), ("returnedOn", "2026-09-20")));
        var sign = (ContractCommand.Sign)contract.Signing.Body;
        Assert.Equal(("B-1", new LocalDate(2026, 5, 4), "taken-over:old-sheets:0123456789abcdef:c4"), (contract.Signing.Contract, contract.Signing.On, contract.Signing.Origin.Key));
        Assert.Equal("taken over from book 'old-sheets', line 4 of its contracts", contract.Signing.Origin.Reason);
        Assert.Equal((new LocalDate(2026, 5, 5), "300.00", "300.00", true), (sign.StartOn, sign.Terms.CashPrice.ToString(), sign.Terms.PurchasePrice.ToString(), sign.WithPlan));
        Assert.Equal((2, "20.00", "5.00", 7, 1), (
            sign.Terms.Introductory.Months, sign.Terms.Introductory.Payment.ToString(), sign.Terms.Plan!.Monthly.ToString(), sign.Terms.LateFee.GraceDays, sign.Terms.EarlyPurchase.Length));
        Assert.Equal((typeof(ContractCommand.CancelPlan), new LocalDate(2026, 7, 1)), (contract.PlanEnd!.Body.GetType(), contract.PlanEnd.On));
        Assert.Equal((typeof(ContractCommand.Return), "taken-over:old-sheets:0123456789abcdef:c4:returned"), (contract.Ending!.Body.GetType(), contract.Ending.Origin.Key));
    }

    [Theory]
    [InlineData("contract", "B 1", RefusalCode.FieldInvalid, "contract")]
    [InlineData("serial", "", RefusalCode.FieldMissing, "Serial no.")]
    [InlineData("monthlyRent", "-1.00", RefusalCode.AmountInvalid, "monthlyRent")]
    [InlineData("creditShare", "a half", RefusalCode.FieldInvalid, "creditShare")]
    [InlineData("planEndedOn", "2026-05-03", RefusalCode.OnBeforeSigning, "planEndedOn")]
    [InlineData("boughtFor", "10.00", RefusalCode.BookUnreadable, "boughtOn")]
    [InlineData("boughtOn", "2026-06-01", RefusalCode.BookUnreadable, "boughtFor")]
    public void A_line_that_makes_no_contract_is_refused_with_line_and_column(string column, string value, RefusalCode code, string named)
    {
        var (contract, fault) = BookContract.Read(Contract(9, null, (column, value)), Shape);
        Assert.Null(contract);
        Assert.Equal((code, 9L, named), (fault!.Cause.Code, fault.Line, fault.Column));
        Assert.StartsWith($"Contracts, line 9, {named}: ", fault.Refusal.Detail, StringComparison.Ordinal);
    }

    [Fact]
    public void A_contract_ends_once_and_is_paid_by_one_account_of_it()
    {
        Assert.Equal("boughtOn", BookContract.Read(Contract(2, null, ("returnedOn", "2026-09-01"), ("boughtOn", "2026-09-02"), ("boughtFor", "1.00")), Shape).Fault!.Column);
        Assert.Equal("rentPaid", BookContract.Read(Contract(2, null, ("paidThrough", "2026-09-01"), ("rentPaid", "1.00")), Shape).Fault!.Column);
    }

    [Fact]
    public void Lines_that_contradict_each_other_are_named_all_at_once()
    {
        var (book, faults) = OldBook.Read(
            Shape, [Contract(2, null, ("paidThrough", "2026-06-30")), Contract(3, null, ("serial", "S-2")), Contract(4, null, ("contract", "B-2"), ("serial", "S-3"), ("paidThrough", "2026-11-01"))],
            [Payment(2, "B-9", "2026-06-01", "1.00"), Payment(3, "B-1", "2026-06-01", "1.00")], AsOf);
        Assert.Null(book);
        Assert.Equal(
            ["c3 contract-already-signed", "c4 book-unreadable", "p2 contract-unknown", "p3 book-unreadable"], faults.Select(one => $"{(one.IsPayment ? 'p' : 'c')}{one.Line} {one.Cause.Slug}"));
        var twice = OldBook.Read(Shape, [Contract(2, null)], [Payment(2, "B-1", "2026-06-01", "1.00", "R-1"), Payment(3, "B-1", "2026-06-01", "1.00", "R-1"), Payment(4, "B-1", "2026-06-01", "1.00")], AsOf);
        Assert.Equal((3L, "reference"), (Assert.Single(twice.Faults).Line, twice.Faults[0].Column));
    }

    [Fact]
    public void Where_the_book_says_through_which_day_each_installment_is_deemed_paid_on_the_day_it_was_due()
    {
        var account = Assert.Single(Accounts(Read(Contract(2, null, ("paidThrough", "2026-08-20"))))).Account!;
        // Due on the 5th from May: four times 30.00 and 5.00, with 8 percent of tax; September and October are past due, with a late fee each.
        Assert.Equal(("120.00", "151.20", "85.60"), (account.Equity.ToString(), account.Paid.Total.ToString(), account.PastDue.ToString()));
        Assert.Equal(("old-sheets", 2L), (account.TakenOver!.Book, account.TakenOver.Line));
    }

    [Fact]
    public void Rent_paid_to_date_ends_in_part_of_an_installment_and_never_goes_ahead()
    {
        var account = Assert.Single(Accounts(Read(Contract(2, null, ("rentPaid", "70.00"))))).Account!;
        Assert.Equal(("70.00", "10.00"), (account.Equity.ToString(), account.Paid.Plan.ToString()));
        var ahead = Read(Contract(2, null, ("rentPaid", "200.00")));
        var shop = Shop();
        Say(shop, ahead.Signing);
        var (payments, fault) = DeemedPayments.Of(ahead, Shape, shop.History("B-1"), shop.RatesAt(Instant.MaxValue), AsOf);
        Assert.Null(payments);
        Assert.Equal(("rentPaid", "180.00"), (fault!.Column, fault.Cause.RightFigure));
    }

    [Fact]
    public void A_book_that_comes_to_the_totals_to_the_cent_holds()
    {
        var held = Reconciliation.Of(Totals("""{"asOf":"2026-10-31","contracts":2,"open":2,"equity":"210.00","pastDue":"85.60"}"""), TwoAccounts());
        Assert.True(held.Holds);
        Assert.Null(held.Refusal(Totals("""{"asOf":"2026-10-31","equity":"210.00"}""")));
    }

    [Theory]
    [InlineData("""{"asOf":"2026-10-31","equity":"209.99"}""", "equity", "210.00", "0.01 more")]
    [InlineData("""{"asOf":"2026-10-31","equity":"210.01"}""", "equity", "210.00", "0.01 less")]
    [InlineData("""{"asOf":"2026-10-31","contracts":3,"equity":"210.00"}""", "contracts", "2", "1 less")]
    [InlineData("""{"asOf":"2026-10-31","open":1,"equity":"210.00"}""", "open", "2", "1 more")]
    [InlineData("""{"asOf":"2026-10-31","equity":"90.00"}""", "equity", "210.00", "B-1 (line 2: its equity is 120.00)")]
    [InlineData("""{"asOf":"2026-10-31","equity":"180.00"}""", "equity", "210.00", "B-1 (line 2: its monthly rent is 30.00)")]
    public void A_total_that_is_another_by_a_cent_refuses_the_book_and_says_which_contracts_to_look_at(string totals, string field, string right, string says)
    {
        var refusal = Reconciliation.Of(Totals(totals), TwoAccounts()).Refusal(Totals(totals))!;
        Assert.Equal((RefusalCode.BookDoesNotReconcile, field, right), (refusal.Code, refusal.Field, refusal.RightFigure));
        Assert.Contains(says, refusal.Detail, StringComparison.Ordinal);
    }

    [Fact]
    public void The_books_own_figure_of_a_contract_is_compared_by_line_also_where_the_totals_agree()
    {
        Dictionary<string, Money> one = new(StringComparer.Ordinal) { ["equity"] = Money.Parse("110.00") }, other = new(StringComparer.Ordinal) { ["equity"] = Money.Parse("100.00") };
        var control = Totals("""{"asOf":"2026-10-31","equity":"210.00"}""");
        var compared = Reconciliation.Of(control, TwoAccounts(one, other));
        Assert.Equal((2, 2, false), (compared.LinesCompared, compared.Lines.Count, compared.Holds));
        var refusal = compared.Refusal(control)!;
        Assert.Equal(("Equity (book)", "120.00"), (refusal.Field, refusal.RightFigure));
        Assert.StartsWith("Contracts, line 2, Equity (book): the book says 110.00 of B-1", refusal.Detail, StringComparison.Ordinal);
        // Where the total differs as well, the lines say where.
        control = Totals("""{"asOf":"2026-10-31","equity":"200.00"}""");
        Assert.Contains("B-1 (line 2: 110.00 there, 120.00 by its facts)", Reconciliation.Of(control, TwoAccounts(one, other)).Refusal(control)!.Detail, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("[]", "totals")]
    [InlineData("""{"asOf":"10/31/2026","equity":"1.00"}""", "asOf")]
    [InlineData("""{"equity":"1.00"}""", "asOf")]
    [InlineData("""{"asOf":"2026-10-31"}""", "totals")]
    [InlineData("""{"asOf":"2026-10-31","equity":1.00}""", "equity")]
    [InlineData("""{"asOf":"2026-10-31","equity":"1.005"}""", "equity")]
    [InlineData("""{"asOf":"2026-10-31","equity":"1.00","equity":"2.00"}""", "equity")]
    [InlineData("""{"asOf":"2026-10-31","deposits":"1.00"}""", "deposits")]
    [InlineData("""{"asOf":"2026-10-31","open":"2","equity":"1.00"}""", "totals")]
    [InlineData("""{"asOf":"2026-10-31","open":-2,"equity":"1.00"}""", "open")]
    public void Control_totals_that_say_nothing_sure_are_refused(string json, string field)
    {
        var (totals, refusal) = ControlTotals.Read(Encoding.UTF8.GetBytes(json));
        Assert.Null(totals);
        Assert.Equal((RefusalCode.BookMappingInvalid, field), (refusal!.Code, refusal.Field));
    }

    [Fact]
    public void A_unit_that_went_out_again_is_taken_over_in_the_order_of_its_contracts()
    {
        var (book, _) = OldBook.Read(
            Shape, [Contract(2, null), Contract(3, null, ("contract", "B-2"), ("returnedOn", "2026-06-20")), Contract(4, null, ("contract", "B-3"), ("returnedOn", "2026-05-20"))], [], AsOf);
        Assert.Equal(["B-3", "B-2", "B-1"], book!.InOrder().Select(one => one.Signing.Contract));
    }

    private static List<ReconciledContract> TwoAccounts(IReadOnlyDictionary<string, Money>? first = null, IReadOnlyDictionary<string, Money>? second = null) => Accounts(
        Read(Contract(2, first, ("paidThrough", "2026-08-20"))),
        Read(Contract(3, second, ("contract", "B-2"), ("serial", "S-2"), ("signedOn", "2026-08-04"), ("startOn", "2026-08-05"), ("paidThrough", "2026-10-31"))));

    private static ControlTotals Totals(string json) => ControlTotals.Read(Encoding.UTF8.GetBytes(json)).Totals!;
}
