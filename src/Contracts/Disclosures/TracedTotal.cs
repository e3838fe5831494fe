using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Payments;
using NodaTime;

namespace Contracts.Disclosures;

/// <summary>A part of a consumer total, and the event it comes from.</summary>
/// <param name="Sequence">The event in the store's order of recording.</param>
/// <param name="On">The day the event is about.</param>
/// <param name="Key">The key of the command that recorded it.</param>
/// <param name="Says">What of the event counts.</param>
/// <param name="Amount">How much.</param>
public sealed record TotalPart(long Sequence, LocalDate On, string Key, string Says, Money Amount);

/// <summary>
/// A total that a disclosure, a receipt or a statement shows, with the events that make it. The parts add up to the total, which is
/// the account's own figure and not made from them.
/// </summary>
/// <param name="Figure">The figure's name, as account and papers have it.</param>
/// <param name="Amount">The figure.</param>
/// <param name="Parts">The parts in the order of their events' days.</param>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
public sealed record TracedTotal(string Figure, Money Amount, ImmutableArray<TotalPart> Parts)
{
    /// <summary>The totals of an account: what was paid by kind, what waits, what is past due and left, and what ownership costs.</summary>
    public static ImmutableArray<TracedTotal> Of(AccountState state)
    {
        var account = Account.Of(state, default);
        var terms = state.TermsFact;
        var paid = PaidParts(state);
        var open = state.OpenItems.Select(item => Open(state, item)).ToList();
        return
        [
            new("paid.total", account.Paid.Total, [.. paid.Select(part => part.Part)]),
            .. new (string Name, PaidFor For, Money Amount)[]
            {
                ("rent", PaidFor.Rent, account.Paid.Rent), ("plan", PaidFor.Plan, account.Paid.Plan), ("tax", PaidFor.Tax, account.Paid.Tax),
                ("fees", PaidFor.Fees, account.Paid.Fees), ("accessories", PaidFor.Accessories, account.Paid.Accessories),
                ("purchase", PaidFor.Purchase, account.Paid.Purchase),
            }.Select(kind => new TracedTotal($"paid.{kind.Name}", kind.Amount, [.. paid.Where(part => part.For == kind.For).Select(part => part.Part)])),
            new("unappliedCredit", account.UnappliedCredit, [.. Waiting(state)]),
            new("pastDue", account.PastDue, [.. open.Select(item => item.Part)]),
            new("remainingBySchedule", account.RemainingBySchedule, state.HasEnded
                ? []
                : [.. open.Where(item => item.IsRent).Select(item => item.Part), Part(terms, "rent still to fall due under its terms", state.Schedule.RentLeft)]),
            new("totalCost", account.TotalCost, [Part(terms, "all rents of its terms", state.Terms.TotalRent)]),
            new("costOfRental", account.CostOfRental,
                [Part(terms, "all rents of its terms", state.Terms.TotalRent), Part(terms, "less its cash price", Money.Zero - state.Terms.CashPrice)]),
        ];
    }

    private static List<(PaidFor For, TotalPart Part)> PaidParts(AccountState state)
    {
        var parts = new List<(PaidFor, TotalPart)>();
        foreach (var fact in Payments(state))
        {
            foreach (var (item, amount) in state.PaidBy(fact.Key).Paid)
            {
                if (PaidTotals.For(item) is { } kind) { parts.Add((kind, Part(fact, $"paid {Name(item)}", amount))); }
            }
        }

        return parts;
    }

    private static IEnumerable<TotalPart> Waiting(AccountState state) => Payments(state)
        .Select(fact => Part(fact, "waits for what falls due", state.PaidBy(fact.Key).Waiting)).Where(part => part.Amount != Money.Zero);

    /// <summary>The facts that brought money, in the order of their days; goodwill is no money of the family's.</summary>
    private static IEnumerable<Recorded> Payments(AccountState state) => state.History.Facts
        .Where(fact => fact.Event is ContractEvent.PaymentReceived or ContractEvent.BoughtEarly && fact.Event.On <= state.On)
        .OrderBy(fact => fact.Event.On).ThenBy(fact => fact.Sequence);

    private static (bool IsRent, TotalPart Part) Open(AccountState state, ChargeItem item)
    {
        // A charge follows from the terms in force when it fell due, whether a billing run has noted it or not.
        var cause = state.CauseOf(item.Charge);
        return (item.Part == ChargePart.Rent, Part(cause, $"{Name(item)}, unpaid", item.Open));
    }

    private static string Name(ChargeItem item) => $"{item.Charge.Kind.Word()} due {NodaTime.Text.LocalDatePattern.Iso.Format(item.Charge.DueOn)}, {item.Part.Word()}";

    private static TotalPart Part(Recorded fact, string says, Money amount) => new(fact.Sequence, fact.Event.On, fact.Key, says, amount);
}
