using Contracts.Terms;
using NodaTime;

namespace Contracts.Schedule;

/// <summary>The parts of one installment: tax on the taxable parts, each rounded by itself, then rent and plan.</summary>
public readonly record struct InstallmentParts(LocalDate On, Money Tax, Money Rent, Money Plan)
{
    /// <summary>The next installment of a schedule under terms, a plan choice and the tax of its due date.</summary>
    public static InstallmentParts Next(RentSchedule schedule, ContractTerms terms, bool planElected, TaxEntry tax)
    {
        var rent = schedule.NextRent;
        var plan = planElected && terms.Plan is { } offered ? PlanOf(offered, schedule.Introductory) : Money.Zero;
        return new InstallmentParts(schedule.NextDue, tax.OnRent(rent) + tax.OnPlan(plan), rent, plan);
    }

    private static Money PlanOf(ProtectionPlan plan, IntroductoryPeriod? introductory)
    {
        if (introductory is null) { return plan.Monthly; }
        return plan.ChargedInIntroductory ? plan.Monthly.Times(introductory.Months) : Money.Zero;
    }
}
