using System.Text;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>Every refusal has a case here; <see cref="Every_refusal_is_tried"/> sees to it.</summary>
public sealed class RefusalTests
{
    private const string Disputed = "2026-09-05 sign\n2026-09-06 open-dispute dispute=D-1 claim=other says=wrong";

    private const string Acquired = "2026-08-01 acquire-unit serial=HC-1 kind=clarinet condition=new cost=412.00";

    /// <summary>Given these lines, when this one, then this refusal (and the right figure it names).</summary>
    public static readonly TheoryData<RefusalCode, string, string, string?> Decided = new()
    {
        { RefusalCode.OnTooFarAhead, "2026-09-05 sign", "2026-12-01 @2026-10-30 pay amount=1.00 method=cash", "2026-11-30" },
        { RefusalCode.OnBeforeSigning, "2026-09-05 sign", "2026-09-04 @2026-09-06 pay amount=1.00 method=cash", "2026-09-05" },
        { RefusalCode.LaterEvent, "2026-09-05 sign\n2026-10-10 hold reason=summer", "2026-10-09 @2026-10-11 return", "2026-10-10" },
        { RefusalCode.TooLate, "2026-09-05 sign", "2026-11-04 @2026-11-05 elect-plan", "2026-11-05" },
        { RefusalCode.TooLate, "2026-09-05 sign", "2026-11-04 @2026-11-05 move state=NY jurisdiction=taxed", "2026-11-05" },
        { RefusalCode.RateInUse, "2026-09-05 sign", "2026-09-06 set-tax", null },
        { RefusalCode.JurisdictionUnknown, "", "2026-09-05 sign area=nowhere", null },
        { RefusalCode.StateUnknown, "", "2026-09-05 sign state=ZZ", null },
        { RefusalCode.UnlawfulTerms, "", "2026-09-05 sign state=HI late=5.01/7", "5.00" },
        { RefusalCode.UnlawfulTerms, "", "2026-09-05 sign state=NJ", null },
        { RefusalCode.DisclosureMissing, "", "2026-09-05 sign state=VA condition=none", "new or used" },
        { RefusalCode.ContractUnknown, "", "2026-09-05 pay amount=1.00 method=cash", null },
        { RefusalCode.ContractAlreadySigned, "2026-09-05 sign", "2026-09-06 sign", null },
        { RefusalCode.StartBeforeSigning, "", "2026-09-05 sign start=2026-09-04", "2026-09-05" },
        { RefusalCode.TermsInvalid, "", "2026-09-05 sign rent=0.00", null },
        { RefusalCode.TermsInvalid, "", "2026-09-05 sign share=0", null },
        { RefusalCode.TermsInvalid, "", "2026-09-05 sign share=1.01", null },
        { RefusalCode.TermsInvalid, "", "2026-09-05 sign tiers=*:0.40,12:0.30", null },
        { RefusalCode.TermsInvalid, "", "2026-09-05 sign tiers=3:1.40", null },
        { RefusalCode.StatusForbids, "2026-09-05 sign\n2026-10-05 return", "2026-10-06 buy amount=1.00 method=cash", null },
        { RefusalCode.StatusForbids, "2026-09-05 sign", "2026-10-05 release", null },
        { RefusalCode.ReasonMissing, "2026-09-05 sign", "2026-10-05 hold", null },
        { RefusalCode.AmountNotPositive, "2026-09-05 sign", "2026-09-05 pay amount=0.00 method=cash", null },
        { RefusalCode.PurchaseAmountWrong, "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash", "2026-09-06 buy amount=1.00 method=cash", "690.00" },
        { RefusalCode.RefundExceedsCredit, "2026-09-05 sign\n2026-09-05 pay amount=50.00 method=cash", "2026-09-06 refund amount=5.01", "5.00" },
        { RefusalCode.PaymentUnknown, "2026-09-05 sign", "2026-09-06 reverse-payment payment=L9 code=R01 reason=bank", null },
        { RefusalCode.PaymentAlreadyReversed, "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-09-06 reverse-payment payment=L2 code=R01 reason=bank", "2026-09-07 reverse-payment payment=L2 code=R01 reason=bank", null },
        { RefusalCode.ReversalBeforePayment, "2026-09-05 sign\n2026-09-08 pay amount=45.00 method=cash", "2026-09-07 @2026-09-09 reverse-payment payment=L2 code=R01 reason=bank", "2026-09-08" },
        { RefusalCode.FeeUnknown, "2026-09-05 sign", "2026-09-12 waive fee=late:2026-09-05 reason=kindness", null },
        { RefusalCode.FeeAlreadyWaived, "2026-09-05 sign\n2026-09-13 waive fee=late:2026-09-05 reason=kindness", "2026-09-14 waive fee=late:2026-09-05 reason=kindness", null },
        { RefusalCode.WriteOffExceedsPastDue, "2026-09-05 sign", "2026-09-06 write-off amount=45.01", "45.00" },
        { RefusalCode.RecoveryExceedsWriteOff, "2026-09-05 sign\n2026-09-06 write-off amount=45.00", "2026-09-07 recover amount=45.01", "45.00" },
        { RefusalCode.SerialUnchanged, "2026-09-05 sign", "2026-09-06 swap serial=HC-1 returnBy=2026-09-20", null },
        { RefusalCode.ReturnByBeforeSwap, "2026-09-05 sign", "2026-09-06 swap serial=HC-2 returnBy=2026-09-05", "2026-09-06" },
        { RefusalCode.UnitNotOnContract, "2026-09-05 sign", "2026-09-06 receive-unit serial=HC-7", null },
        { RefusalCode.PlanNotOffered, "2026-09-05 sign plan=none", "2026-09-06 elect-plan", null },
        { RefusalCode.ReinstatementPastDue, "2026-09-05 sign\n2026-10-05 return", "2026-10-06 reinstate", "50.00" },
        { RefusalCode.ReinstatementWindowPassed, "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-10-05 return", "2026-11-05 reinstate", "2026-11-04" },
        { RefusalCode.QuoteUnknown, "", "2026-09-05 sign quote=Q-9", null },
        { RefusalCode.QuoteAlreadyGiven, "2026-09-05 quote quote=Q-1 validThrough=2026-09-19", "2026-09-06 quote quote=Q-1 validThrough=2026-09-19", null },
        { RefusalCode.QuoteExpired, "2026-09-01 quote quote=Q-1 start=2026-09-05 validThrough=2026-09-04", "2026-09-05 sign quote=Q-1", "2026-09-04" },
        { RefusalCode.QuoteDiffers, "2026-09-05 quote quote=Q-1 validThrough=2026-09-19", "2026-09-05 sign quote=Q-1 rent=39.00", "38.00" },
        { RefusalCode.QuoteEndsBeforeGiven, "", "2026-09-05 quote quote=Q-1 validThrough=2026-09-04", "2026-09-05" },
        { RefusalCode.StartBeforeSigning, "", "2026-09-05 quote quote=Q-1 start=2026-09-04 validThrough=2026-09-19", "2026-09-05" },
        { RefusalCode.OnTooFarAhead, "", "2026-10-10 @2026-09-05 quote quote=Q-1 validThrough=2026-10-19", "2026-10-06" },
        { RefusalCode.StateUnknown, "", "2026-09-05 quote quote=Q-1 state=ZZ validThrough=2026-09-19", null },
        { RefusalCode.PaperSubjectUnknown, "2026-09-05 sign", "2026-09-06 issue kind=receipt for=L9", null },
        { RefusalCode.PaperSubjectUnknown, "2026-09-05 sign", "2026-09-06 issue kind=receipt", null },
        { RefusalCode.PaperSubjectUnknown, "2026-09-05 sign", "2026-09-06 issue kind=statement for=L1", null },
        { RefusalCode.PaperDayWrong, "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash", "2026-09-06 issue kind=receipt for=L2", "2026-09-05" },
        { RefusalCode.PaperNotDue, "2026-09-05 sign", "2026-09-06 issue kind=bill-of-sale", null },
        { RefusalCode.PaperNotDue, "2026-09-05 sign", "2026-09-06 issue kind=final-payment", null },
        { RefusalCode.PaperNotDue, "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash", "2026-09-06 issue kind=default-notice", null },
        { RefusalCode.PaperNotDue, "2026-09-05 sign\n2026-10-05 return", "2026-10-06 issue kind=early-purchase", null },
        { RefusalCode.UnitUnknown, "", "2026-09-05 grade-unit serial=HC-9 grade=A", null },
        { RefusalCode.UnitAlreadyAcquired, Acquired, "2026-09-05 acquire-unit serial=HC-1 kind=clarinet condition=new cost=1.00", "2026-08-01" },
        { RefusalCode.UnitNotInspected, Acquired, "2026-09-05 sign", "2026-08-01" },
        { RefusalCode.UnitStatusForbids, Acquired, "2026-09-05 finish-repair serial=HC-1 cost=1.00", "to-inspect" },
        { RefusalCode.UnitLaterEvent, Acquired + "\n2026-09-05 sell-unit serial=HC-1 price=1.00", "2026-09-04 @2026-09-06 send-to-repair serial=HC-1 description=crack", "2026-09-05" },
        { RefusalCode.UnitKindDiffers, "2026-08-01 acquire-unit serial=HC-1 kind=trumpet condition=new cost=1.00", "2026-09-05 sign", "trumpet" },
        { RefusalCode.ChecklistUnknown, Acquired, "2026-09-05 inspect-unit serial=HC-1 list=another.1", "band-and-orchestra.1" },
        { RefusalCode.InspectionIncomplete, Acquired, "2026-09-05 inspect-unit serial=HC-1 leave=tuning", "tuning" },
        { RefusalCode.DeliveryNotAwaited, "2026-09-05 sign", "2026-09-06 deliver", "2026-09-05" },
        { RefusalCode.DeliveryDayWrong, "2026-09-05 sign begins=delivery\n2026-09-06 deliver", "2026-09-08 deliver reason=r", "2026-09-06" },
        { RefusalCode.UnitNotDueBack, "2026-09-05 sign", "2026-09-06 issue-label serial=HC-7 carrier=post reference=RL-1", null },
        { RefusalCode.DamageUnknown, "2026-09-05 sign", "2026-09-06 swap serial=HC-2 returnBy=2026-09-20 damage=L9", null },
        { RefusalCode.RepairFeeNotTold, "2026-09-05 sign\n2026-09-06 report-damage description=dent", "2026-09-06 swap serial=HC-2 returnBy=2026-09-20 damage=L2", null },
        { RefusalCode.DisputeUnknown, "2026-09-05 sign", "2026-09-06 answer-dispute dispute=D-1 finding=upheld says=yes", null },
        { RefusalCode.DisputeAlreadyOpened, Disputed, "2026-09-06 open-dispute dispute=D-1 claim=other says=again", null },
        { RefusalCode.DisputeEnded, Disputed + "\n2026-09-06 close-dispute dispute=D-1 outcome=withdrawn", "2026-09-06 close-dispute dispute=D-1 outcome=withdrawn", null },
        { RefusalCode.DisputeNotAnswered, Disputed, "2026-09-06 close-dispute dispute=D-1 outcome=settled", null },
        { RefusalCode.DisputeHoldStands, Disputed + "\n2026-09-06 hold ground=dispute reason=r", "2026-09-06 close-dispute dispute=D-1 outcome=withdrawn", null },
        { RefusalCode.DisputeSubjectUnknown, "2026-09-05 sign", "2026-09-06 open-dispute dispute=D-1 claim=payment says=x about=L9", null },
        { RefusalCode.PaymentNotToBeAsked, "2026-09-05 sign\n2026-09-06 hold ground=bankruptcy reason=r", "2026-09-06 issue kind=default-notice", null },
        {
            RefusalCode.MerchandiseExceedsCredit,
            "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-09-10 exchange price=30.00 rent=20.00 intro=0x0.00 tiers=",
            "2026-09-11 spend-credit amount=15.01 sale=40.00", "15.00"
        },
        { RefusalCode.ShareInvalid, "2026-09-05 sign", "2026-10-05 step-up share=1.01 sale=2000.00", null },
    };

    /// <summary>Lines that cannot be read, and how they are refused.</summary>
    public static readonly TheoryData<RefusalCode, string> Unreadable = new()
    {
        { RefusalCode.MalformedLine, """{"do":"pay","key":"k","contract":"C-1","on":"2026-09-05","amo""" },
        { RefusalCode.MalformedLine, "[1,2]" },
        { RefusalCode.MalformedLine, """{"do\ud800":"pay","key":"k"}""" },
        { RefusalCode.MalformedLine, """{"do":"sign","key":"k","contract":"C-1","on":"2026-09-05","household":"H","instrument":{"\udc00":1}}""" },
        { RefusalCode.UnknownCommand, """{"do":"pai","key":"k","contract":"C-1","on":"2026-09-05"}""" },
        { RefusalCode.FieldMissing, """{"do":"pay","key":"k","contract":"C-1","on":"2026-09-05","method":"cash"}""" },
        { RefusalCode.FieldMissing, """{"do":"pay","contract":"C-1","on":"2026-09-05","amount":"1.00","method":"cash"}""" },
        { RefusalCode.FieldMissing, """{"do":"quote","key":"k","quote":"Q-1","on":"2026-09-05","validThrough":"2026-09-19","state":"OR","jurisdiction":"quay","startOn":"2026-09-05","terms":{"cashPrice":"1.00","purchasePrice":"1.00","monthlyRent":"1.00","creditShare":1}}""" },
        { RefusalCode.FieldInvalid, """{"do":"quote","key":"k","quote":"Q 1","on":"2026-09-05","validThrough":"2026-09-19","household":"H"}""" },
        { RefusalCode.FieldMissing, """{"do":"settle-entry","key":"k","by":"F","entry":"B-1"}""" },
        { RefusalCode.FieldInvalid, """{"do":"settle-entry","key":"k","by":"F","entry":"B-1","contract":"C-1","payment":"p","shares":[{"contract":"C-1","amount":"1.00"}]}""" },
        { RefusalCode.FieldUnknown, """{"do":"hold","key":"k","contract":"C-1","on":"2026-09-05","raeson":"x"}""" },
        { RefusalCode.FieldRepeated, """{"do":"hold","key":"k","contract":"C-1","on":"2026-09-05","on":"2026-09-06"}""" },
        { RefusalCode.FieldInvalid, """{"do":"waive","key":"k","contract":"C-1","on":"2026-09-05","fee":7}""" },
        { RefusalCode.FieldInvalid, """{"do":"hold","key":"k","contract":"C 1","on":"2026-09-05"}""" },
        { RefusalCode.FieldInvalid, """{"do":"set-tax","key":"k","jurisdiction":"quay","rate":"0.08","from":"2026-09-05","taxes":{},"regime":"at-delivery"}""" },
        { RefusalCode.FieldInvalid, """{"do":"set-tax","key":"k","jurisdiction":"quay","rate":"0.08","from":"2026-09-05","taxes":{},"parts":[{"authority":"quay","rate":"0.07"}]}""" },
        { RefusalCode.AmountInvalid, """{"do":"pay","key":"k","contract":"C-1","on":"2026-09-05","amount":"1.005","method":"cash"}""" },
        { RefusalCode.AmountInvalid, """{"do":"pay","key":"k","contract":"C-1","on":"2026-09-05","amount":1.00,"method":"cash"}""" },
        { RefusalCode.AmountInvalid, """{"do":"pay","key":"k","contract":"C-1","on":"2026-09-05","amount":"-1.00","method":"cash"}""" },
        { RefusalCode.DateInvalid, """{"do":"hold","key":"k","contract":"C-1","on":"2026-02-29"}""" },
        { RefusalCode.DateInvalid, """{"do":"hold","key":"k","contract":"C-1","on":"2026-09-05","at":"noon"}""" },
    };

    /// <summary>Codes that only the store can give, tried on PostgreSQL in Contracts.Host.Tests.</summary>
    private static readonly RefusalCode[] GivenByTheStore =
    [
        RefusalCode.ClockNotSimulated, RefusalCode.AtMissing, RefusalCode.AtGoesBack, RefusalCode.InstrumentOnOpenContract,
        RefusalCode.MonthNotOver, RefusalCode.MonthAlreadyClosed, RefusalCode.MonthGap, RefusalCode.MonthNotClosed,
        RefusalCode.CloseCheckFailed, RefusalCode.ChartInvalid,
        RefusalCode.ShopWithoutCalendar, RefusalCode.CalendarInUse, RefusalCode.LawPackInvalid, RefusalCode.LawPackNotNew,
        RefusalCode.HouseholdUnknown, RefusalCode.HouseholdErased, RefusalCode.HouseholdInUse, RefusalCode.HouseholdRetained, RefusalCode.PersonalFactRefused,
        RefusalCode.HouseholdWithoutContract, RefusalCode.HouseholdPaymentUnclear, RefusalCode.HouseholdSharesDiffer, RefusalCode.HouseholdContractOther,
        RefusalCode.CheckpointUnknown, RefusalCode.PaperNotMade, RefusalCode.PaperUnknown, RefusalCode.PaperDiffers,
        RefusalCode.ContractMoved,
        RefusalCode.ProposalUnknown, RefusalCode.ProposalAlreadyMade, RefusalCode.ProposalSettled, RefusalCode.SecondPersonNeeded,
        RefusalCode.MoneyFileUnreadable, RefusalCode.MoneyFileDoesNotAddUp, RefusalCode.MoneyFileCurrency, RefusalCode.MoneyMappingInvalid,
        RefusalCode.EntryUnknown, RefusalCode.EntrySettled, RefusalCode.EntrySharesDiffer, RefusalCode.ReturnCodeUnknown, RefusalCode.EntryDirectionWrong,
        RefusalCode.BookUnreadable, RefusalCode.BookMappingInvalid, RefusalCode.BookDoesNotReconcile, RefusalCode.BookAlreadyTakenOver,
    ];

    [Theory]
    [MemberData(nameof(Decided))]
    public void A_command_that_breaks_a_rule_is_refused_by_its_name(
        RefusalCode code, string given, string when, string? rightFigure)
    {
        var script = Script.Given(given);
        if (when.EndsWith("set-tax", StringComparison.Ordinal))
        {
            const string line = """{"do":"set-tax","key":"t","at":"2026-09-06T16:00:00Z","jurisdiction":"taxed","rate":"0.09","from":"2026-09-06","taxes":{"rent":true}}""";
            Assert.Equal(code, script.Shop.Apply(line)?.Code);
            return;
        }

        script.When(when).ThenRefused(code, rightFigure);
    }

    [Theory]
    [MemberData(nameof(Unreadable))]
    public void A_line_that_cannot_be_read_is_refused_with_its_place(RefusalCode code, string line)
    {
        var (command, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line));
        Assert.Null(command);
        Assert.Equal(code, refusal!.Code);
    }

    [Fact]
    public void A_line_longer_than_the_limit_is_refused_unread()
    {
        var (_, refusal) = CommandReader.Read(new byte[CommandReader.LongestLine + 1]);
        Assert.Equal(RefusalCode.LineTooLong, refusal!.Code);
    }

    [Fact]
    public void Every_refusal_is_tried()
    {
        var tried = Decided.Select(row => row.Data.Item1)
            .Concat(Unreadable.Select(row => row.Data.Item1))
            .Concat(GivenByTheStore)
            .Append(RefusalCode.LineTooLong);
        Assert.Empty(Enum.GetValues<RefusalCode>().Except(tried));
    }

    [Fact]
    public void A_refused_key_stays_free()
    {
        var script = Script.Given("2026-09-05 sign");
        script.When("2026-10-05 pay amount=0.00 method=cash key=P").ThenRefused(RefusalCode.AmountNotPositive);
        script.When("2026-10-05 pay amount=45.00 method=cash key=P").ThenAccepted();
        Assert.Equal(new Money(4500), script.On("2026-10-05").Equity);
    }
}
