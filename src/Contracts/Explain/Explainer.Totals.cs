using Contracts.History;
using Contracts.Payments;

namespace Contracts.Explain;

/// <summary>What the schedule still brings, and the totals of the terms (M65 to M68).</summary>
internal sealed partial class Explainer
{
    private ExplainNode RentAhead() => LeftToCharge(InForce, Installments(Current));

    private ExplainNode RemainingBySchedule(string figure) => state.HasEnded
        ? NothingAfterTheEnd(figure)
        : Nodes.Of(
            Combination.Sum, figure, account.RemainingBySchedule, "unpaid rent past due and rent not yet due", MoneyRules.ScheduleTotals, OpenRent(null, now), RentAhead());

    private ExplainNode TotalCost(string figure) => Nodes.Of(
        Combination.RoundedQuotient, figure, account.TotalCost, "the rent that brings the purchase price from nothing", MoneyRules.TotalRent,
        OfTerms(InForce, "purchase price", InForce.Terms.PurchasePrice), OfTerms(InForce, "credit share", InForce.Terms.CreditShare));

    private ExplainNode CostOfRental(string figure) => Nodes.Of(
        Combination.Difference, figure, account.CostOfRental, "total cost less the cash price", MoneyRules.ScheduleTotals,
        TotalCost("totalCost"), OfTerms(InForce, "cash price", InForce.Terms.CashPrice));

    private ExplainNode NextDue(string figure)
    {
        if (state.HasEnded) { return NothingAfterTheEnd(figure); }
        if (account.NextDue is not { } next)
        {
            var held = state.Status == ContractStatus.OnHold;
            var fact = held ? trace.Effective.Last(one => one.Event is Agreements.ContractEvent.Held) : InForce.Fact;
            var why = held ? "nothing falls due while on hold"
                : state.AwaitsDelivery ? "nothing falls due before the delivery"
                : "no installment is left";
            return Nodes.Leaf(figure, Money.Zero, why, state.AwaitsDelivery ? MoneyRules.StartAtDelivery : MoneyRules.NextDue, fact);
        }

        var schedule = state.Schedule;
        var entry = rates.On(state.Jurisdiction, next.On);
        var (delivery, tax) = (state.DeliveryTaxAhead, state.DeliveryTaxAhead is null ? state.TaxOn(next.On) : state.TaxOn(next.On).AfterDelivery());
        var parts = Schedule.InstallmentParts.Next(schedule, state.Terms, state.PlanElected, tax);
        var rent = RentOf("rent", parts.Rent, InForce, schedule.Introductory is not null, Installments(Current));
        var nodes = new List<ExplainNode>();
        if (delivery is not null) { nodes.Add(TaxOn("all rents of the term", schedule.RentLeft, RentAhead(), entry.Rate, state.Jurisdiction, next.On, MoneyRules.DeliveryTax)); }
        if (tax.BearsOnRent) { nodes.Add(TaxOn("rent", parts.Rent, rent, tax.Rate, state.Jurisdiction, next.On, MoneyRules.TaxOnInstallment)); }
        var plan = parts.Plan.IsPositive ? Plan("plan", parts.Plan, InForce, state.On) : null;
        if (plan is not null && tax.BearsOnPlan) { nodes.Add(TaxOn("plan", parts.Plan, plan, tax.Rate, state.Jurisdiction, next.On, MoneyRules.TaxOnInstallment)); }
        nodes.Add(rent);
        if (plan is not null) { nodes.Add(plan); }
        return Nodes.Of(Combination.Sum, figure, next.Amount, $"the parts of the installment of {Day(next.On)}", MoneyRules.NextDue, nodes);
    }

    private ExplainNode InstallmentsDue(string figure) => Counted(figure, account.Installments.Due, "installments that fell due", _ => true);

    private ExplainNode InstallmentsPaid(string figure) => Counted(figure, account.Installments.Paid, "installments with no part open", charge => charge.IsPaid);

    private ExplainNode Counted(string figure, int count, string says, Func<Charge, bool> counts) => Nodes.Of(
        Combination.Count, figure, Nodes.Text(count), says, MoneyRules.Installments,
        state.Charges.Where(charge => charge.Kind == ChargeKind.Installment && counts(charge)).Select(charge => Nodes.Leaf(
            charge.Id, Total(charge.Items.Select(item => item.Charged)), "fell due", MoneyRules.Installments, state.CauseOf(charge))));

    private ExplainNode InstallmentsRemaining(string figure) => state.HasEnded
        ? Nodes.Leaf(figure, 0, $"the contract has ended: {state.StatusWord}", MoneyRules.Ended, Ending())
        : Nodes.Leaf(figure, account.Installments.Remaining, "as many as the rent not yet charged makes", MoneyRules.Installments, InForce.Fact);

    private ExplainNode InstallmentsTotal(string figure) => Nodes.Of(
        Combination.Sum, figure, Nodes.Text(account.Installments.Total), "fallen due and still to fall due", MoneyRules.Installments,
        InstallmentsDue("installments.due"), InstallmentsRemaining("installments.remaining"));
}
