using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Bank;
using Contracts.Tests.Support;
using Xunit;
using static Contracts.Tests.Bank.BankLines;

namespace Contracts.Tests.Bank;

/// <summary>What a person may say a line is about.</summary>
public sealed class EntryDeskTests
{
    private static readonly WaitingEntry In = new("B-1", Day("2026-10-05"), Money.Parse("95.04"), true, "ach", "REF-1", null, null);
    private static readonly WaitingEntry Out = In with { IsCredit = false, ReturnCode = "R01" };

    [Fact]
    public void Shares_that_add_up_become_payments_with_keys_of_the_line()
    {
        var (changes, refusal) = EntryDesk.Settle(Settle(("C-1", "41.04"), ("C-2", "54.00")), In);
        Assert.Null(refusal);
        Assert.Equal(
            [("C-1", "bank:B-1", new ContractCommand.Pay(Money.Parse("41.04"), "ach", "REF-1")), ("C-2", "bank:B-1:2", new ContractCommand.Pay(Money.Parse("54.00"), "ach", "REF-1"))],
            changes.Select(one => (one.Contract, one.Origin.Key, (ContractCommand.Pay)one.Body)));
        Assert.All(changes, one => Assert.Equal((In.BookedOn, "Fay"), (one.On, one.Origin.By)));
    }

    [Fact]
    public void Shares_that_do_not_add_up_are_refused_with_the_right_figure()
    {
        var refusal = EntryDesk.Settle(Settle(("C-1", "41.04")), In).Refusal!;
        Assert.Equal((RefusalCode.EntrySharesDiffer, "95.04"), (refusal.Code, refusal.RightFigure));
        Assert.Equal(RefusalCode.EntrySharesDiffer, EntryDesk.Settle(Settle(("C-1", "41.04"), ("C-1", "54.00")), In).Refusal!.Code);
        Assert.Equal(RefusalCode.EntrySharesDiffer, EntryDesk.Settle(Settle(("C-1", "95.04"), ("C-2", "0.00")), In).Refusal!.Code);
    }

    [Fact]
    public void A_payment_that_came_back_takes_the_code_of_the_file_or_the_one_that_is_said()
    {
        Assert.Equal(new ContractCommand.ReversePayment("k-1", "R01"), EntryDesk.Settle(Back("k-1", null), Out).Changes.Single().Body);
        Assert.Equal(new ContractCommand.ReversePayment("k-1", "R10"), EntryDesk.Settle(Back("k-1", "R10"), Out).Changes.Single().Body);
        Assert.All(["entry-error", "R29", "R99"], code => Assert.Equal(RefusalCode.ReturnCodeUnknown, EntryDesk.Settle(Back("k-1", code), Out).Refusal!.Code));
        Assert.Equal(RefusalCode.ReturnCodeUnknown, EntryDesk.Settle(Back("k-1", null), Out with { ReturnCode = null }).Refusal!.Code);
    }

    [Fact]
    public void Money_goes_the_way_the_line_says()
    {
        Assert.Equal(RefusalCode.EntryDirectionWrong, EntryDesk.Settle(Settle(("C-1", "95.04")), Out).Refusal!.Code);
        // A payment that is named on money that came in was recorded before, and arrived: nothing new is paid.
        var (changes, refusal) = EntryDesk.Settle(Back("k-1", null), In);
        Assert.Equal((true, null), (changes.IsEmpty, refusal));
    }

    [Fact]
    public void What_arrives_is_a_payment_that_stands_and_has_the_amount()
    {
        var script = Script.Given("""
            2026-08-20 sign
            2026-09-02 pay amount=95.04 method=cash key=k-1
            """);
        Assert.Null(Fault("k-1", In));
        var other = Fault("k-1", In with { Amount = Money.Parse("95.05") })!;
        Assert.Equal((RefusalCode.EntrySharesDiffer, "95.05"), (other.Code, other.RightFigure));
        Assert.Equal(RefusalCode.PaymentUnknown, Fault("k-2", In)!.Code);
        script.When("2026-09-05 reverse-payment payment=k-1 code=R01 reason=bank").ThenAccepted();
        Assert.Equal(RefusalCode.PaymentUnknown, Fault("k-1", In)!.Code);

        Refusal? Fault(string payment, WaitingEntry line) => EntryDesk.ArrivalFault(Back(payment, null), line, script.Shop.History("C-1"));
    }

    [Fact]
    public void A_line_is_decided_on_once_by_somebody_with_a_name()
    {
        Assert.Equal(RefusalCode.EntryUnknown, EntryDesk.Settle(Settle(("C-1", "95.04")), null).Refusal!.Code);
        Assert.Equal(RefusalCode.EntrySettled, EntryDesk.Settle(Settle(("C-1", "95.04")), In with { SettledBy = "Ann" }).Refusal!.Code);
        Assert.Equal(RefusalCode.FieldMissing, EntryDesk.Settle(Settle(("C-1", "95.04")) with { Origin = new CommandOrigin("k", null, null) }, In).Refusal!.Code);
        Assert.Equal(RefusalCode.ReasonMissing, EntryDesk.Fault(new Command.SetEntryAside("B-1") { Origin = new CommandOrigin("k", "Fay", null) }, In)!.Code);
        Assert.Null(EntryDesk.Fault(new Command.SetEntryAside("B-1") { Origin = new CommandOrigin("k", "Fay", "a fee of the bank") }, In));
    }

    private static Command.SettleEntry Settle(params (string Contract, string Amount)[] shares) =>
        new("B-1", [.. shares.Select(one => new EntryShare(one.Contract, Money.Parse(one.Amount)))], null, null) { Origin = new CommandOrigin("k", "Fay", null) };

    private static Command.SettleEntry Back(string payment, string? code) =>
        new("B-1", ImmutableArray.Create(new EntryShare("C-1", Money.Zero)), payment, code) { Origin = new CommandOrigin("k", "Fay", null) };
}
