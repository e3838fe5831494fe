using Contracts.History;
using Contracts.Law;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>Signing, and the choices a family makes about plan, home and protection.</summary>
public static partial class ContractDecider
{
    private static Decision Sign(ContractHistory history, DecisionContext context, LocalDate on, ContractCommand.Sign c)
    {
        if (history.IsSigned)
        {
            return Refuse(RefusalCode.ContractAlreadySigned, $"Contract {history.Contract} is already signed.", "contract");
        }

        if (QuoteFault(context, on, c) is { } otherwise) { return Refuse(otherwise); }
        if (c.StartOn < on)
        {
            return Refuse(RefusalCode.StartBeforeSigning, "A contract cannot start before it is signed.", "startOn", Iso(on));
        }

        if (CannotBeOffered(context.Rates, c.State, c.Jurisdiction, c.Terms, c.WithPlan) is { } fault) { return Refuse(fault); }
        if (ShopFault(context, on, c.Shop) is { } shop) { return Refuse(shop); }
        var law = PackFor(context, c.State, on);
        if (Unlawful(context, c.State, law, on, c.Terms, c.Instrument) is { } unlawful) { return Refuse(unlawful); }
        if (Untold(law, on, c.Instrument) is { } untold) { return Refuse(untold); }
        return Accept(new ContractEvent.Signed(
            c.Household, c.Instrument, c.State, c.Jurisdiction, c.StartOn, c.Terms, c.Accessories, c.WithPlan, c.Shop, c.Quote, law?.Reference)
        {
            On = on, StartsAtDelivery = c.StartsAtDelivery,
        });
    }

    /// <summary>What stands against these terms at this place whoever signs them and whenever: a quote asks the same as a signing.</summary>
    internal static Refusal? CannotBeOffered(ReferenceData rates, string state, string jurisdiction, ContractTerms terms, bool withPlan) =>
        Home(rates, state, jurisdiction) ?? TermsRules.Fault(terms) ?? (withPlan && terms.Plan is null ? NoPlan() : null);

    /// <summary>The main shop's books begin with its first contract; any other shop needs a calendar first.</summary>
    private static Refusal? ShopFault(DecisionContext context, LocalDate on, string? shop)
    {
        if (shop is null or ContractEvent.Signed.MainShop) { return null; }
        if (context.Shops is null || !context.Shops.TryGetValue(shop, out var first))
        {
            return new Refusal(RefusalCode.ShopWithoutCalendar, $"The shop '{shop}' has no calendar; `set-calendar` says when its books begin.", "shop");
        }

        var day = first.OnDayOfMonth(1);
        return on >= day ? null : new Refusal(RefusalCode.ShopWithoutCalendar, $"The books of '{shop}' begin on {Iso(day)}.", "on", Iso(day));
    }

    private static Decision Move(Situation now, ContractCommand.Move c)
    {
        if (Home(now.Context.Rates, c.State, c.Jurisdiction) is { } unknown) { return Refuse(unknown); }
        if (TooLate(now) is { } late) { return Refuse(late); }
        return Accept(new ContractEvent.Moved(c.State, c.Jurisdiction, PackFor(now.Context, c.State, now.On)?.Reference) { On = now.On });
    }

    private static Decision ElectPlan(Situation now)
    {
        if (now.Account.Terms.Plan is null) { return Refuse(NoPlan()); }
        if (TooLate(now) is { } late) { return Refuse(late); }
        return Accept(new ContractEvent.PlanElected { On = now.On });
    }

    private static Refusal NoPlan() =>
        new(RefusalCode.PlanNotOffered, "The terms of this contract offer no protection plan.", "terms.plan");

    private static Refusal? Home(ReferenceData rates, string state, string jurisdiction)
    {
        if (!States.Knows(state))
        {
            return new Refusal(RefusalCode.StateUnknown, $"'{state}' is not the postal code of a state.", "state");
        }

        return rates.Knows(jurisdiction)
            ? null
            : new Refusal(
                RefusalCode.JurisdictionUnknown,
                $"No tax rate was ever set for '{jurisdiction}'; set one first, at zero if nothing is taxed.", "jurisdiction");
    }

    /// <summary>A choice that changes what an installment costs cannot be dated before one that has already fallen due.</summary>
    private static Refusal? TooLate(Situation now)
    {
        var today = LocalDate.Max(now.On, now.Context.RecordingDate);
        foreach (var charge in now.At(today).Charges)
        {
            if (charge.Kind != Payments.ChargeKind.Installment || charge.DueOn <= now.On
                || charge.DueOn > now.Context.RecordingDate)
            {
                continue;
            }

            return new Refusal(
                RefusalCode.TooLate, $"The installment of {Iso(charge.DueOn)} has already fallen due.", "on", Iso(charge.DueOn));
        }

        return null;
    }
}
