using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Law;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime.Text;

namespace Contracts.Papers;

/// <summary>
/// Says of any amount on a paper how it was made: a tree through the rules down to the events, as they were known when the paper was
/// made. The figures of the account keep their names; what only the paper's own part has begins with its name, such as <c>receipt.waiting</c>.
/// </summary>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
public sealed class PaperExplanation
{
    private readonly ContractHistory history;
    private readonly ReferenceData rates;
    private readonly Paper paper;
    private readonly AccountState state;
    private readonly Explanation account;
    private readonly Dictionary<string, Func<string, ExplainNode?>> own = new(StringComparer.Ordinal);
    private readonly List<string> order = [];

    private PaperExplanation(ContractHistory history, ReferenceData rates, Paper paper, AccountState state, Explanation account)
    {
        (this.history, this.rates, this.paper, this.state, this.account) = (history, rates, paper, state, account);
        if (paper.Agreement is { } agreement) { Name(agreement); }
        if (paper.Receipt is { } receipt) { Name(receipt); }
        if (paper.Statement is { } statement) { Name(statement); }
        if (paper.Offer is { HoldsThrough: { } last, NextPayoff: not null })
        {
            Name("offer.nextPayoff", figure => At(history, last.PlusDays(1), "earlyPurchase.payoff", figure));
        }

        if (paper.Exchange is { } exchange) { Name(exchange); }
        if (paper.Final is { } final) { Name(final); }
    }

    /// <summary>The names of all amounts: the paper's own, then those of the account.</summary>
    public ImmutableArray<string> Figures => [.. order, .. account.Figures];

    /// <summary>A paper ready to explain.</summary>
    /// <param name="history">What was known of the contract when the paper was made, and no more.</param>
    /// <param name="rates">Tax rates and law known then.</param>
    /// <param name="paper">The paper, made from them.</param>
    public static PaperExplanation Of(ContractHistory history, ReferenceData rates, Paper paper) => new(
        history, rates, paper, AccountFold.At(history, rates, paper.On)!, Explanation.At(history, rates, paper.On)!);

    /// <summary>The tree of an amount; null where the paper has none of that name.</summary>
    /// <param name="figure">A name of <see cref="Figures"/>.</param>
    public ExplainNode? Of(string figure) => own.TryGetValue(figure, out var make) ? make(figure) : account.Of(figure);

    /// <summary>The refusal of a name that the paper does not have, with those it has.</summary>
    public Refusal Unknown(string figure) => new(
        RefusalCode.FieldInvalid, $"This paper has no figure '{figure}'. It has: {string.Join(", ", Figures)}.", "figure");

    private void Name(string figure, Func<string, ExplainNode?> make)
    {
        own[figure] = make;
        order.Add(figure);
    }

    private void Same(string figure, string of) => Name(figure, name => account.Of(of) is { } tree ? tree with { Figure = name } : null);

    /// <summary>The lines of the sheet that say one figure; the others are sentences.</summary>
    private void Name(AgreementPart agreement)
    {
        var signing = history.Facts.First(fact => fact.Event is ContractEvent.Signed);
        Name("agreement.cash-price", name => Nodes.Leaf(name, agreement.Terms.CashPrice, "the terms say so", MoneyRules.Frozen, signing));
        Same("agreement.total-of-payments", "totalCost");
        Same("agreement.cost-of-rental", "costOfRental");
        Same("agreement.payment-count", "installments.total");
        Same("agreement.initial-payment", "pastDue");
    }

    private void Name(ReceiptPart receipt)
    {
        var fact = history.Facts.Single(one => one.Key == receipt.Payment);
        var amount = Nodes.Leaf("receipt.amount", receipt.Amount, "what was paid", MoneyRules.Paid, fact);
        var parts = receipt.Parts.GroupBy(part => (part.Charge, part.Part, part.What, part.DueOn)).Select(part => Nodes.Leaf(
            $"receipt.parts.{part.Key.Charge}.{part.Key.Part}", Total(part.Select(line => line.Amount)),
            $"the payment pays {part.Key.What} of {LocalDatePattern.Iso.Format(part.Key.DueOn)}, {part.Key.Part}", MoneyRules.Applied, fact)).ToList();
        Name(amount.Figure, _ => amount);
        foreach (var part in parts) { Name(part.Figure, _ => part); }
        Name("receipt.waiting", name => Waiting(name, receipt, amount, parts));
        foreach (var stated in receipt.States) { NameStated(stated, amount); }
    }

    private ExplainNode Waiting(string name, ReceiptPart receipt, ExplainNode amount, List<ExplainNode> parts)
    {
        // Money that went back on the same day neither pays anything nor waits.
        var gone = receipt.Amount - Total(receipt.Parts.Select(part => part.Amount)) - receipt.Waiting;
        var back = history.Facts.LastOrDefault(one => one.Event is ContractEvent.PaymentReversed or ContractEvent.RefundIssued && one.Event.On <= paper.On);
        if (gone != Money.Zero) { parts = [.. parts, Nodes.Leaf("went back", gone, "given back, or taken back by the bank", MoneyRules.RefundOf, back)]; }
        return Nodes.Of(Combination.Difference, name, receipt.Waiting, "what was paid less what it paid", MoneyRules.Unapplied, [amount, .. parts]);
    }

    private void NameStated(StatedFigure stated, ExplainNode amount)
    {
        var item = Enum.GetValues<DisclosureItem>().First(one => one.Code() == stated.Item);
        var figure = $"receipt.states.{item.Word()}";
        switch (item)
        {
            case DisclosureItem.PaidNow: Name(figure, name => amount with { Figure = name }); break;
            case DisclosureItem.RemainingTotal: Same(figure, "remainingBySchedule"); break;
            case DisclosureItem.EpoPriceNow: Same(figure, "earlyPurchase.price"); break;
            case DisclosureItem.CashPrice: Name(figure, name => Nodes.Leaf(name, stated.Amount, "the terms say so", MoneyRules.Frozen, state.TermsFact)); break;
            case DisclosureItem.TotalOfPayments: Same(figure, "totalCost"); break;
            case DisclosureItem.CostOfRental: Same(figure, "costOfRental"); break;
            case DisclosureItem.DueThisPeriod when Running() is { } charge: Name(figure, name => Charged(name, charge)); break;
            case DisclosureItem.DueThisPeriod: Same(figure, "nextDue.amount"); break;
            default: throw new System.Diagnostics.UnreachableException($"No receipt states {item}.");
        }
    }

    private Charge? Running() => state.Charges.Where(charge => charge.Kind == ChargeKind.Installment && charge.ReversedOn is null)
        .OrderBy(charge => charge.DueOn).LastOrDefault();

    private void Name(StatementPart statement)
    {
        Name("statement.charged", name => Nodes.Of(
            Combination.Sum, name, statement.Charged, "every charge that stands", MoneyRules.ScheduleTotals,
            state.Charges.Where(charge => charge.ReversedOn is null).Select(charge => Charged(charge.Id, charge))));
        Name("statement.received", name => Nodes.Of(
            Combination.Sum, name, statement.Received, "money that came in less money that went back", MoneyRules.Paid,
            statement.Money.Where(line => line.Amount != Money.Zero).Select(line => Nodes.Leaf(
                $"{line.What} of {LocalDatePattern.Iso.Format(line.On)}", line.Amount, line.What, MoneyRules.Paid, history.Facts.Single(fact => fact.Key == line.Key)))));
    }

    private void Name(ExchangePart exchange)
    {
        var before = history.ThroughSequence(history.Facts.Single(fact => fact.Key == exchange.Key).Sequence - 1);
        Name("exchange.equityBefore", name => At(before, exchange.ExchangedOn, "equity", name));
        Name("exchange.remainingBefore", name => At(before, exchange.ExchangedOn, "remainingToOwn", name));
    }

    private void Name(FinalPart final)
    {
        Same("final.payment", "nextDue.amount");
        Name("final.toPay", name =>
        {
            var (next, due, waits) = (account.Of("nextDue.amount")!, account.Of("pastDue")!, account.Of("unappliedCredit")!);
            var owed = final.Payment + account.Account.PastDue;
            return Nodes.Of(
                Combination.Highest, name, final.ToPay, "what is to be paid, never below nothing", MoneyRules.NextDue,
                Nodes.Of(
                    Combination.Difference, "what is to be paid", owed - account.Account.UnappliedCredit,
                    "the last payment and what is past due, less what waits", MoneyRules.NextDue,
                    Nodes.Of(Combination.Sum, "last payment and past due", owed, "both", MoneyRules.NextDue, next, due), waits),
                Nodes.Leaf("nothing", Money.Zero, "a bound", MoneyRules.NextDue, null));
        });
    }

    private ExplainNode Charged(string name, Charge charge) => Nodes.Of(
        Combination.Sum, name, Total(charge.Items.Select(item => item.Charged)), "the parts of the charge", MoneyRules.Applied,
        charge.Items.Select(item => Nodes.Leaf($"{charge.Id}, {item.Part.Word()}", item.Charged, "charged", MoneyRules.Applied, state.CauseOf(charge))));

    private ExplainNode? At(ContractHistory known, NodaTime.LocalDate on, string of, string name) =>
        Explanation.At(known, rates, on)?.Of(of) is { } tree ? tree with { Figure = name } : null;

    private static Money Total(IEnumerable<Money> amounts) => amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);
}
