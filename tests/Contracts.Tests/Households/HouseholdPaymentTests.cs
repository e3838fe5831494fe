using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Households;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Households;

/// <summary>One payment over a family's contracts, and their statement together. Invented.</summary>
public sealed class HouseholdPaymentTests
{
    // On 12 November C-2 owes 30.00 of 10 October, a late fee of 5.00, and 30.00 of 10 November; C-1 owes 38.00 of 5 November.
    private const string Family = """
        2026-09-05 sign late=0.00/7
        2026-09-05 pay amount=45.00 method=cash
        2026-09-10 sign contract=C-2 serial=HC-2 intro=1x20.00 rent=30.00
        2026-09-10 pay contract=C-2 amount=20.00 method=cash
        2026-09-10 sign contract=C-3 serial=HC-3 household=H-2
        """;

    [Theory]
    [InlineData("2026-11-12", "10.00", "C-2 10.00")]
    [InlineData("2026-11-12", "35.00", "C-2 35.00")]
    [InlineData("2026-11-12", "60.00", "C-1 25.00, C-2 35.00")]
    [InlineData("2026-11-12", "103.00", "C-1 38.00, C-2 65.00")]
    [InlineData("2026-11-12", "171.00", "C-1 76.00, C-2 95.00")]
    [InlineData("2026-11-04", "36.00", "C-1 1.00, C-2 35.00")]
    [InlineData("2026-09-20", "30.00", "C-2 30.00")]
    [InlineData("2026-09-06", "38.00", "C-1 38.00")]
    public void Without_shares_the_oldest_day_is_paid_first_and_the_next_installments_last(string on, string amount, string shares) =>
        Assert.Equal(shares, Words(Split(Script.Given(Family), on, amount)));

    [Fact]
    public void What_waits_on_a_contract_is_not_asked_for_again_and_of_one_day_the_first_id_goes_first()
    {
        var script = Script.Given("""
            2026-09-05 sign contract=C-2 serial=HC-2 intro=1x20.00 rent=30.00 late=0.00/7
            2026-09-05 sign intro=1x20.00 rent=30.00 late=0.00/7
            2026-09-05 pay amount=45.00 method=cash
            """);
        Assert.Equal("C-1 5.00, C-2 20.00", Words(Split(script, "2026-09-05", "25.00")));
        Assert.Equal("C-1 5.00, C-2 50.00", Words(Split(script, "2026-09-05", "55.00")));
        Assert.Equal("C-1 30.00, C-2 30.00", Words(Split(script.When("2026-09-06 pay amount=5.00 method=cash").When("2026-09-06 pay contract=C-2 amount=20.00 method=cash"), "2026-11-04", "60.00")));
    }

    [Fact]
    public void A_contract_that_ended_is_paid_what_it_owes_and_one_on_hold_nothing_ahead()
    {
        var script = Script.Given(Family + "\n2026-11-12 return contract=C-2\n2026-11-12 hold reason=r");
        Assert.Equal("C-1 38.00, C-2 65.00", Words(Split(script, "2026-11-12", "103.00")));
        Refused(Split(script, "2026-11-12", "103.01"), RefusalCode.HouseholdPaymentUnclear, "103.00");
    }

    [Fact]
    public void More_than_is_due_needs_shares_that_are_said()
    {
        var script = Script.Given(Family);
        Refused(Split(script, "2026-11-12", "171.01"), RefusalCode.HouseholdPaymentUnclear, "171.00");
        Assert.Equal("C-1 171.01", Words(Split(script, "2026-11-12", "171.01", ("C-1", "171.01"))));
        Assert.Equal("C-2 1.00, C-1 2.00", Words(Split(script, "2026-11-12", "3.00", ("C-2", "1.00"), ("C-1", "2.00"))));
    }

    [Fact]
    public void Shares_are_the_amount_one_for_each_contract_of_the_family()
    {
        var script = Script.Given(Family);
        Refused(Split(script, "2026-11-12", "3.00", ("C-1", "1.00"), ("C-2", "1.00")), RefusalCode.HouseholdSharesDiffer, "3.00");
        Refused(Split(script, "2026-11-12", "3.00", ("C-1", "1.00"), ("C-1", "2.00")), RefusalCode.HouseholdSharesDiffer, null);
        Refused(Split(script, "2026-11-12", "3.00", ("C-1", "3.00"), ("C-2", "0.00")), RefusalCode.HouseholdSharesDiffer, null);
        Refused(Split(script, "2026-11-12", "3.00", ("C-1", "1.00"), ("C-3", "2.00")), RefusalCode.HouseholdContractOther, null);
        Refused(Split(script, "2026-09-06", "3.00", ("C-2", "3.00")), RefusalCode.HouseholdContractOther, null);
        Refused(Split(script, "2026-09-04", "3.00"), RefusalCode.HouseholdWithoutContract, null);
    }

    [Fact]
    public void Each_share_is_a_payment_with_a_key_of_its_own_that_names_the_whole()
    {
        var pay = Pay("2026-11-12", "103.00") with { Reference = "R-9" };
        var payments = HouseholdPayment.Payments(pay, [new EntryShare("C-1", Money.Parse("38.00")), new EntryShare("C-2", Money.Parse("65.00"))]);
        Assert.Equal(["share:k:1 C-1 38.00", "share:k:2 C-2 65.00"], payments.Select(one => $"{one.Origin.Key} {one.Contract} {((ContractCommand.Pay)one.Body).Amount}"));
        Assert.All(payments, one => Assert.Equal(
            ("R-9", "cash", "of the payment of 103.00 by H-1", pay.On), (((ContractCommand.Pay)one.Body).Reference, ((ContractCommand.Pay)one.Body).Method, one.Origin.Reason, one.On)));
        Assert.NotNull(global::Contracts.Commands.ReservedKeys.Fault(payments[0].Origin.Key));
    }

    [Fact]
    public void The_statement_of_a_family_is_its_contracts_statements_in_the_order_of_days()
    {
        var script = Script.Given(Family);
        var statement = HouseholdStatement.Of("H-1", [script.Shop.History("C-2"), script.Shop.History("C-1")], script.Shop.RatesAt(Instant.MaxValue), Day("2026-09-06"), Day("2026-11-12"))!;
        Assert.Equal(["C-1 38.00 0.00", "C-2 65.00 20.00"], statement.Contracts.Select(one => $"{one.Contract} {one.Closing.PastDue} {one.Closing.Equity - one.Opening.Equity}"));
        Assert.Equal(
            ["2026-09-10 C-2 20.00 20.00", "2026-09-10 C-2 -20.00 0.00", "2026-10-10 C-2 30.00 30.00", "2026-10-18 C-2 5.00 35.00", "2026-11-05 C-1 38.00 73.00", "2026-11-10 C-2 30.00 103.00"],
            statement.Movements.Select(one => $"{LocalDatePattern.Iso.Format(one.Movement.On)} {one.Contract} {one.Movement.Amount} {one.Balance}"));
        Assert.Equal(("0.00", "103.00", "103.00"), (statement.Opening.ToString(), statement.Closing.ToString(), statement.PastDue.ToString()));
        var early = HouseholdStatement.Of("H-1", [script.Shop.History("C-2"), script.Shop.History("C-1")], script.Shop.RatesAt(Instant.MaxValue), null, Day("2026-09-09"))!;
        Assert.Equal((Day("2026-09-05"), "C-1"), (early.From, early.Contracts.Single().Contract));
        Assert.Null(HouseholdStatement.Of("H-1", [script.Shop.History("C-1")], script.Shop.RatesAt(Instant.MaxValue), null, Day("2026-09-04")));
    }

    private static LocalDate Day(string text) => LocalDatePattern.Iso.Parse(text).Value;

    private static Command.PayHousehold Pay(string on, string amount, params (string Contract, string Amount)[] shares) =>
        new("H-1", Day(on), Money.Parse(amount), "cash", null, [.. shares.Select(share => new EntryShare(share.Contract, Money.Parse(share.Amount)))])
        {
            Origin = new CommandOrigin("k", "ada", null),
        };

    private static (ImmutableArray<EntryShare> Shares, Refusal? Refusal) Split(Script script, string on, string amount, params (string Contract, string Amount)[] shares) =>
        HouseholdPayment.Split("H-1", Money.Parse(amount), Pay(on, amount, shares).Shares, [.. script.Shop.Contracts
            .Where(contract => script.Shop.History(contract).Signing.Household == "H-1")
            .Select(contract => AccountFold.At(script.Shop.History(contract), script.Shop.RatesAt(Instant.MaxValue), Day(on))).OfType<AccountState>()]);

    private static string Words((ImmutableArray<EntryShare> Shares, Refusal? Refusal) split)
    {
        Assert.True(split.Refusal is null, split.Refusal?.Detail);
        return string.Join(", ", split.Shares.Select(share => $"{share.Contract} {share.Amount}"));
    }

    private static void Refused((ImmutableArray<EntryShare> Shares, Refusal? Refusal) split, RefusalCode code, string? rightFigure) =>
        Assert.Equal((code, rightFigure), (split.Refusal?.Code, split.Refusal?.RightFigure));
}
