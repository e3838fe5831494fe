using Contracts.Equity;
using Contracts.History;
using Contracts.Law;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>What happens to the instrument: swapped, exchanged, returned, lost, held, stepped up.</summary>
public static partial class ContractDecider
{
    private static Decision Swap(Situation now, ContractCommand.Swap c)
    {
        if (!AccountFold.MaySwap(now.Account.Status)) { return Forbidden(now, "swapped"); }
        if (c.Serial == now.Account.Serial) { return SameSerial(); }
        if (c.ReturnBy < now.On)
        {
            return Refuse(RefusalCode.ReturnByBeforeSwap, "The old unit cannot be due back before the swap.", "returnBy", Iso(now.On));
        }

        if (DamageFault(now, c.Damage) is { } untold) { return Refuse(untold); }
        var (fee, section) = ChargeForTheUnit(now, null);
        return Accept(new ContractEvent.InstrumentSwapped(now.Account.Serial, c.Serial, c.ReturnBy, fee, section, c.Damage) { On = now.On });
    }

    private static Decision ReceiveUnit(Situation now, ContractCommand.ReceiveUnit c) =>
        now.History.Facts.Any(fact => fact.Event.On <= now.On && Names(fact.Event, c.Serial))
            ? Accept(new ContractEvent.UnitReceived(c.Serial) { On = now.On })
            : Refuse(RefusalCode.UnitNotOnContract, $"The unit '{c.Serial}' was not on this contract by {Iso(now.On)}.", "serial");

    private static bool Names(ContractEvent fact, string serial) => fact switch
    {
        ContractEvent.Signed e => e.Instrument.Serial == serial,
        ContractEvent.InstrumentSwapped e => e.Serial == serial || e.Outgoing == serial,
        ContractEvent.InstrumentExchanged e => e.Instrument.Serial == serial,
        ContractEvent.Reinstated e => e.Serial == serial,
        _ => false,
    };

    private static Decision Exchange(Situation now, ContractCommand.Exchange c)
    {
        if (!AccountFold.MayExchange(now.Account.Status)) { return Forbidden(now, "exchanged"); }
        if (c.Instrument.Serial == now.Account.Serial) { return SameSerial(); }
        if (TermsRules.Fault(c.Terms) is { } fault) { return Refuse(fault); }
        var (law, account) = (now.Account.Law, now.Account);
        if (law is not null && Unlawful(now.Context, account.State, law, now.On, c.Terms, c.Instrument) is { } unlawful) { return Refuse(unlawful); }
        var section = NewAgreement(law, now.History.Signing.On, account.Terms, c.Terms);
        if (section is not null && Untold(law, now.On, c.Instrument) is { } untold) { return Refuse(untold); }
        return Accept(new ContractEvent.InstrumentExchanged(c.Instrument, c.Terms, c.Accessories, section) { On = now.On });
    }

    private static Decision Return(Situation now, ContractCommand.Return c) =>
        AccountFold.MayReturn(now.Account.Status)
            ? Accept(new ContractEvent.Returned(c.Condition) { On = now.On })
            : Forbidden(now, "returned");

    private static Decision ReportLoss(Situation now, ContractCommand.ReportLoss c)
    {
        if (!AccountFold.MayBuy(now.Account.Status)) { return Forbidden(now, "reported lost"); }
        var (charge, section) = ChargeForTheUnit(now, c.MarketValue);
        return Accept(new ContractEvent.LossReported(c.Kind, charge, c.MarketValue, section) { On = now.On });
    }

    /// <summary>What a unit costs the family that does not bring it back: the early purchase price, or less where the act says so.</summary>
    private static (Money Charge, string? Section) ChargeForTheUnit(Situation now, Money? marketValue)
    {
        var price = EarlyPurchase.On(now.Account).Price;
        return now.Account.Law is { } law && LossLimits.Of(law, EarlyPurchase.Standing(now.Account), price, marketValue) is { } limit && limit.Most < price
            ? (limit.Most, limit.Citation)
            : (price, null);
    }

    private static Decision Hold(Situation now, ContractCommand.Hold c) =>
        AccountFold.MayHold(now.Account.Status)
            ? Accept(new ContractEvent.Held(c.Ground) { On = now.On })
            : Forbidden(now, "put on hold");

    private static Decision Release(Situation now)
    {
        if (now.Account.Status != ContractStatus.OnHold) { return Forbidden(now, "released"); }
        return HoldGround.InForce(now.Account) is { ReleaseSaysWhy: true } ground && string.IsNullOrWhiteSpace(now.Origin.Reason)
            ? Refuse(new Refusal(
                RefusalCode.ReasonMissing, $"The contract is on hold because of {ground.Ground}: say by what order or fact it is released. {ground.Caution}", "reason", null,
                ground.Citation))
            : Accept(new ContractEvent.Released { On = now.On });
    }

    private static Decision Reinstate(Situation now, ContractCommand.Reinstate c)
    {
        if (now.Account.Status != ContractStatus.Returned) { return Forbidden(now, "reinstated"); }
        if (now.Account.PastDue.IsPositive)
        {
            return Refuse(
                RefusalCode.ReinstatementPastDue, $"{now.Account.PastDue} is past due and must be paid first.", null,
                now.Account.PastDue.ToString());
        }

        var returned = now.History.Facts.Last(fact =>
            fact.Event is ContractEvent.Returned && fact.Event.On <= now.On && !now.Account.IsOvertaken(fact.Sequence));
        var (last, section) = Reinstatement.LastDay(now.Account, returned.Event.On);
        return now.On > last
            ? Refuse(new Refusal(RefusalCode.ReinstatementWindowPassed, $"The last day to reinstate was {Iso(last)}.", "on", Iso(last), section))
            : Accept(new ContractEvent.Reinstated(c.Serial) { On = now.On });
    }

    private static Decision StepUp(Situation now, ContractCommand.StepUp c)
    {
        if (!AccountFold.MayStepUp(now.Account.Status)) { return Forbidden(now, "stepped up"); }
        if (c.Share <= Rate.Nothing || c.Share > Rate.Whole)
        {
            return Refuse(RefusalCode.ShareInvalid, "The share of equity must be above 0 and at most 1.", "share", "1.00");
        }

        if (NotPositive(c.SalePrice, "sale.price") is { } refusal) { return Refuse(refusal); }
        var credit = Money.Min(c.Share.Of(now.Account.Equity), c.SalePrice);
        return Accept(new ContractEvent.SteppedUp(c.Share, c.Description, c.SalePrice, credit) { On = now.On });
    }

    private static Decision.Refused SameSerial() =>
        Refuse(RefusalCode.SerialUnchanged, "The family already has this unit.", "serial");

    private static Decision.Refused Forbidden(Situation now, string done) => Refuse(
        RefusalCode.StatusForbids,
        $"A contract that is {StatusWord(now.Account.Status)} on {Iso(now.On)} cannot be {done}.", "on");

    private static string StatusWord(ContractStatus status) => status switch
    {
        ContractStatus.OnHold => "on hold",
        ContractStatus.SteppedUp => "stepped up",
        _ => status.ToString().ToLowerInvariant(),
    };
}
