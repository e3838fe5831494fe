using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime.Text;

namespace Contracts.Explain;

/// <summary>
/// Builds the trees of one account in one view. Every amount of the account, of a charge and of a payment is taken from the fold; what
/// lies between is worked out as the rule says.
/// </summary>
/// <param name="state">The account.</param>
/// <param name="account">Its figures.</param>
/// <param name="rates">Tax rates and law as known in the view.</param>
/// <param name="trace">What was seen while it was folded.</param>
/// <param name="now">The money at the end of the day.</param>
internal sealed partial class Explainer(AccountState state, Account account, ReferenceData rates, FoldTrace trace, MoneyPicture now)
{
    /// <summary>A figure by its name, or null where this account has none of that name.</summary>
    public ExplainNode? Of(string figure) => figure switch
    {
        "equity" => Equity(figure, account.Equity, Current, now, pastDuePaid: false),
        "carriedEquity" => Carried(figure),
        "remainingToOwn" => RemainingToOwn(figure),
        "pastDue" => PastDue(figure),
        "unappliedCredit" => Waiting(figure, account.UnappliedCredit, goodwill: false),
        "goodwillCredit" => Waiting(figure, account.GoodwillCredit, goodwill: true),
        "merchandiseCredit" => MerchandiseCredit(figure),
        "earlyPurchase.price" => Price(figure),
        "earlyPurchase.tax" => PriceTax(figure),
        "earlyPurchase.payoff" => Payoff(figure),
        "paid.total" => PaidTotal(figure),
        "paid.rent" => PaidFor(figure, account.Paid.Rent, Payments.PaidFor.Rent),
        "paid.plan" => PaidFor(figure, account.Paid.Plan, Payments.PaidFor.Plan),
        "paid.tax" => PaidFor(figure, account.Paid.Tax, Payments.PaidFor.Tax),
        "paid.fees" => PaidFor(figure, account.Paid.Fees, Payments.PaidFor.Fees),
        "paid.accessories" => PaidFor(figure, account.Paid.Accessories, Payments.PaidFor.Accessories),
        "paid.purchase" => PaidFor(figure, account.Paid.Purchase, Payments.PaidFor.Purchase),
        "remainingBySchedule" => RemainingBySchedule(figure),
        "totalCost" => TotalCost(figure),
        "costOfRental" => CostOfRental(figure),
        "nextDue.amount" => NextDue(figure),
        "installments.total" => InstallmentsTotal(figure),
        "installments.due" => InstallmentsDue(figure),
        "installments.paid" => InstallmentsPaid(figure),
        "installments.remaining" => InstallmentsRemaining(figure),
        _ => figure.StartsWith(OpenItems, StringComparison.Ordinal) ? OpenItem(figure) : null,
    };

    /// <summary>What the names of open items begin with.</summary>
    public const string OpenItems = "openItems.";

    private int Current => trace.Terms.Count - 1;

    private TermsPicture InForce => trace.Terms[^1];

    /// <summary>An amount or a rate of a set of terms.</summary>
    private static ExplainNode OfTerms(TermsPicture terms, string figure, Money value) => Nodes.Leaf(figure, value, "the terms say so", MoneyRules.Frozen, terms.Fact);

    private static ExplainNode OfTerms(TermsPicture terms, string figure, Rate value) => Nodes.Leaf(figure, value, "the terms say so", MoneyRules.Frozen, terms.Fact);

    /// <summary>A contract that has ended owes or costs nothing under this figure; the event is the one that ended it.</summary>
    private ExplainNode NothingAfterTheEnd(string figure) => Nodes.Leaf(figure, Money.Zero, $"the contract has ended: {state.StatusWord}", MoneyRules.Ended, Ending());

    private Recorded Ending() => state.Status switch
    {
        ContractStatus.Owned => Passing(),
        ContractStatus.SteppedUp => trace.Effective.Last(fact => fact.Event is ContractEvent.SteppedUp),
        ContractStatus.Lost => trace.Effective.Last(fact => fact.Event is ContractEvent.LossReported),
        _ => trace.Effective.Last(fact => fact.Event is ContractEvent.Returned),
    };

    /// <summary>What made the family the owner: the last money or purchase by that day, else the terms whose schedule ran out.</summary>
    private Recorded Passing() => trace.Effective.LastOrDefault(fact =>
        fact.Event.On <= state.OwnedOn && fact.Event is ContractEvent.PaymentReceived or ContractEvent.BoughtEarly) ?? InForce.Fact;

    private static string Name(ChargeItem item) => $"{item.Charge.Kind.Word()} of {LocalDatePattern.Iso.Format(item.Charge.DueOn)}, {item.Part.Word()}";

    private static Money Total(IEnumerable<Money> amounts) => amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);
}
