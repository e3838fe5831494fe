using Contracts.Agreements;
using Contracts.Books;
using Contracts.Disclosures;
using Contracts.History;
using NodaTime;

namespace Contracts.Replays;

/// <summary>An invariant of docs/money.md that does not hold.</summary>
/// <param name="Invariant">Its name.</param>
/// <param name="Figure">The figure of the account that shows it and can be explained.</param>
/// <param name="Detail">What does not hold, in a sentence.</param>
public sealed record Broken(string Invariant, string Figure, string Detail);

/// <summary>Where an invariant first breaks in the life of a contract.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Number">The event's place in the stream, from 1.</param>
/// <param name="Event">The event after which it does not hold; null for the day of the question.</param>
/// <param name="On">The day of the figures.</param>
/// <param name="What">What breaks.</param>
public sealed record Breach(string Contract, int Number, Recorded? Event, LocalDate On, Broken What);

/// <summary>The invariants of docs/money.md that can be seen on one account, and the walk that finds the first event after which one does not hold.</summary>
public static class Invariants
{
    /// <summary>What does not hold of an account by itself.</summary>
    public static IEnumerable<Broken> Of(AccountState state, Account account)
    {
        if (account.Equity < Money.Zero || account.Equity > state.Terms.PurchasePrice)
        {
            yield return new Broken("equity-bounds", "equity", "Equity is outside 0 and the purchase price.");
        }

        var counted = account.Equity + account.MerchandiseCredit + state.MerchandiseSpent;
        // Above it only where rent was taken back after the credit it brought had been spent: then none is left.
        if (account.MerchandiseCredit < Money.Zero || counted < state.RentCredit || (counted > state.RentCredit && account.MerchandiseCredit.IsPositive))
        {
            yield return new Broken("rent-credit", "merchandiseCredit", "Equity, merchandise credit and what of it was spent are not the rent credit.");
        }

        if (account.PastDue != Sum(account.OpenItems.Select(item => item.Open)))
        {
            yield return new Broken("past-due-is-its-items", "pastDue", "Past due is not the sum of its open items.");
        }

        if (Received(state) != Placed(state, account))
        {
            yield return new Broken("received-is-placed", "paid.total", "Money received is not all applied, waiting, refunded or reversed.");
        }
    }

    /// <summary>For each invariant that breaks in a contract's life, the first event after which it does not hold.</summary>
    /// <param name="history">The contract.</param>
    /// <param name="reference">Rates and law packs as they became known.</param>
    /// <param name="today">The day of the question, which is looked at too.</param>
    public static IReadOnlyList<Breach> Watch(ContractHistory history, KnownReference reference, LocalDate today)
    {
        var breaches = new List<Breach>();
        var seen = new HashSet<string>(StringComparer.Ordinal);
        var posted = new Dictionary<BookAccount, Money>();
        var number = 0;
        try
        {
            foreach (var step in EventWalk.Of(history, reference, today))
            {
                number++;
                foreach (var line in step.Lines) { posted[line.Account] = posted.GetValueOrDefault(line.Account) + line.Amount; }
                if (step is not { State: { } state, Figures: { } figures }) { continue; }
                var broken = Of(state, figures);
                // What falls due between the last event and today is posted by the event that comes next.
                if (step.Event is not null) { broken = broken.Concat(OfBooks(posted, step, figures)); }
                breaches.AddRange(broken.Where(one => seen.Add(one.Invariant)).Select(one => new Breach(history.Contract, number, step.Event, state.On, one)));
            }
        }
        // A rule without an arm for an event is a breach of this contract and no end of the watch.
        catch (Exception damage) when (damage is not (OperationCanceledException or OutOfMemoryException))
        {
            var at = history.Entries[Math.Min(number, history.Entries.Length - 1)];
            breaches.Add(new Breach(history.Contract, number + 1, at, at.Event.On, new Broken("history-folds", "status", damage.Message)));
        }

        return breaches;
    }

    /// <summary>What does not hold between the postings so far and the account on the last day posted.</summary>
    private static IEnumerable<Broken> OfBooks(Dictionary<BookAccount, Money> posted, WalkStep step, Account figures)
    {
        if (Sum(step.Lines.Select(line => line.Amount)) != Money.Zero)
        {
            yield return new Broken("postings-balance", "pastDue", "What the event posts does not add up to nothing.");
        }

        // A paper looks at a day without telling it: its figures are those of the last day told, as are the books.
        if (Of(BookAccount.ReceivableInstallments) + Of(BookAccount.ReceivableFees) + Of(BookAccount.ReceivableLosses) + Of(BookAccount.ReceivableSales)
            + Of(BookAccount.RefundsToRecover) != figures.PastDue)
        {
            yield return new Broken("postings-are-the-fold", "pastDue", "Receivables posted are not what is past due.");
        }

        if (Money.Zero - Of(BookAccount.UnappliedCredit) != figures.UnappliedCredit)
        {
            yield return new Broken("postings-are-the-fold:unapplied", "unappliedCredit", "Unapplied credit posted is not what the account has.");
        }

        if (Money.Zero - Of(BookAccount.MerchandiseCredit) != figures.MerchandiseCredit)
        {
            yield return new Broken("postings-are-the-fold:merchandise", "merchandiseCredit", "Merchandise credit posted is not what the account has.");
        }

        Money Of(BookAccount account) => posted.GetValueOrDefault(account);
    }

    private static Money Received(AccountState state) => Sum(state.History.Facts
        .Where(fact => fact.Event.On <= state.On).Select(fact => AmountOf(fact.Event)));

    private static Money Placed(AccountState state, Account account)
    {
        var facts = state.History.Facts.Where(fact => fact.Event.On <= state.On).ToList();
        var undone = facts.Select(fact => (fact.Event as ContractEvent.PaymentReversed)?.Payment).ToHashSet();
        var reversed = Sum(facts.Where(fact => undone.Contains(fact.Key)).Select(fact => AmountOf(fact.Event)));
        var refunded = Sum(facts.Select(fact => fact.Event).OfType<ContractEvent.RefundIssued>().Select(e => e.Amount));
        var toRecover = Sum(account.OpenItems.Where(item => item.Kind == "refund-to-recover").Select(item => item.Open));
        return account.Paid.Total + account.UnappliedCredit - toRecover + refunded + reversed;
    }

    private static Money AmountOf(ContractEvent fact) => fact switch
    {
        ContractEvent.PaymentReceived e => e.Amount,
        ContractEvent.BoughtEarly e => e.Amount,
        _ => Money.Zero,
    };

    private static Money Sum(IEnumerable<Money> amounts) => amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);
}
