using Contracts.Agreements;
using Contracts.Books;
using Contracts.History;
using Contracts.Payments;
using Contracts.Terms;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>What must hold of the postings in every life.</summary>
public sealed class BooksTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "2000", System.Globalization.CultureInfo.InvariantCulture);

    [Fact]
    public void Every_event_posts_lines_that_balance_on_every_day() => InEveryLife((_, sets) =>
    {
        foreach (var set in sets)
        {
            var days = set.Lines.SelectMany(line => new[] { line.On, line.On.PlusDays(1), line.Last, line.Last.PlusDays(9) }).Distinct();
            foreach (var day in days) { Assert.Equal(Money.Zero, Sum(set.Lines, day)); }
        }
    });

    [Fact]
    public void What_was_added_event_by_event_is_what_the_whole_history_says_of_every_day() => InEveryLife((life, sets) =>
    {
        var known = sets[Math.Abs(life.LastRecorded.GetHashCode()) % sets.Count];
        var lines = sets.TakeWhile(set => set.After.Entries.Length <= known.After.Entries.Length).SelectMany(set => set.Lines).ToList();
        var whole = Postings.Lines(known.After, life.Shop.RatesAt(Instant.MaxValue));
        foreach (var day in Days(known.After)) { Assert.Equal(Text(Balances(whole, day)), Text(Balances(lines, day))); }
    });

    [Fact]
    public void The_books_say_what_the_account_says() => InEveryLife((life, _) =>
    {
        var history = life.Shop.History(life.Contract);
        var rates = life.Shop.RatesAt(Instant.MaxValue);
        var lines = Postings.Lines(history, rates);
        foreach (var day in Days(history))
        {
            if (AccountFold.At(history, rates, day) is not { } state) { continue; }
            var books = Balances(lines, day);
            Money Of(BookAccount account) => books.Where(pair => pair.Key.Account == account).Aggregate(Money.Zero, (sum, pair) => sum + pair.Value);
            Money Owed(BookAccount account) => Money.Zero - Of(account);

            Assert.Equal(state.PastDue, Of(BookAccount.ReceivableInstallments) + Of(BookAccount.ReceivableFees)
                + Of(BookAccount.ReceivableLosses) + Of(BookAccount.ReceivableSales) + Of(BookAccount.RefundsToRecover));
            Assert.Equal(state.UnappliedCredit, Owed(BookAccount.UnappliedCredit));
            Assert.Equal(state.GoodwillCredit, Owed(BookAccount.GoodwillCredit));
            Assert.Equal(state.MerchandiseCredit, Owed(BookAccount.MerchandiseCredit));
            Assert.Equal(OnSales(state), Owed(BookAccount.StepUpCredit));
            Assert.Equal(state.WrittenOff, Owed(BookAccount.ReceivablesWrittenOff));
            var usable = state.Status is ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold or ContractStatus.Lost;
            Assert.Equal(usable ? state.Equity : Money.Zero, Of(BookAccount.EquityHeld));
            var onCost = Sum(lines.Where(line => line is { Account: BookAccount.SalesTaxPayable, Movement: Movement.TaxedOnCost }), day);
            Assert.Equal(StandingTax(state), Owed(BookAccount.SalesTaxPayable) + onCost);
            Assert.Equal(Deferred(state, rates, ChargePart.Rent), Owed(BookAccount.DeferredRent));
            Assert.Equal(Deferred(state, rates, ChargePart.Plan), Owed(BookAccount.DeferredPlan));
            Assert.Equal(MoneyIn(state), Of(BookAccount.CardClearing) + Of(BookAccount.CashOperating)
                + Of(BookAccount.CashDrawer) + Of(BookAccount.BankClearing) + Of(BookAccount.ChecksReceived));
            var atFamily = state.Status is ContractStatus.Active or ContractStatus.OnHold;
            Assert.Equal(atFamily ? new Money(100) : Money.Zero, Of(BookAccount.UnitsOnRent));
        }
    });

    private static void InEveryLife(Action<Life, List<Set>> holds) =>
        Gen.Int[0, int.MaxValue].Sample(seed =>
        {
            var life = Life.Generate(seed);
            holds(life, Sets(life));
        }, iter: Math.Max(1, Lives / 20));

    private sealed record Set(ContractHistory After, IReadOnlyList<BookLine> Lines);

    private static List<Set> Sets(Life life)
    {
        var rates = life.Shop.RatesAt(Instant.MaxValue);
        var sets = new List<Set>();
        LiveBooks? live = null;
        var before = ContractHistory.Unsigned(life.Contract);
        foreach (var command in life.Shop.History(life.Contract).Entries.GroupBy(entry => entry.Key))
        {
            var after = command.Aggregate(before, (history, entry) => history.Evolve(entry));
            (live, var lines) = LiveBooks.Add(live, before, after, rates);
            // Books that go on from where they were add what books made from the signing add.
            Assert.Equal(Postings.Added(before, after, rates), lines);
            sets.Add(new Set(after, lines));
            before = after;
        }

        return sets;
    }

    /// <summary>Days on which something changes, the days around them, and the ends.</summary>
    private static IEnumerable<LocalDate> Days(ContractHistory history)
    {
        var last = Postings.PostedThrough(history);
        return history.Entries.Select(entry => entry.Event.On)
            .SelectMany(day => new[] { day.PlusDays(-1), day, day.PlusDays(17) })
            .Where(day => day <= last).Append(last).Distinct();
    }

    private static Dictionary<(BookAccount Account, string Authority), Money> Balances(IEnumerable<BookLine> lines, LocalDate day) =>
        lines.GroupBy(line => (line.Account, line.Authority)).ToDictionary(group => group.Key, group => Sum(group, day));

    private static string Text(Dictionary<(BookAccount Account, string Authority), Money> balances) =>
        string.Join('\n', balances.Where(pair => pair.Value != Money.Zero).OrderBy(pair => pair.Key).Select(pair => $"{pair.Key} {pair.Value}"));

    private static Money Sum(IEnumerable<BookLine> lines, LocalDate day) =>
        lines.Aggregate(Money.Zero, (sum, line) => sum + line.Through(day));

    private static Money StandingTax(AccountState state) => Total(state.Charges
        .Where(charge => charge.ReversedOn is null).Select(charge => charge.Of(ChargePart.Tax)));

    /// <summary>Made again from the charges: what of each period's amount lies after the day, nothing once the contract has ended.</summary>
    private static Money Deferred(AccountState state, ReferenceData rates, ChargePart part)
    {
        if (state.HasEnded) { return Money.Zero; }
        var installments = state.Charges.Where(charge => charge.Kind == ChargeKind.Installment).ToList();
        var rest = Money.Zero;
        foreach (var charge in installments)
        {
            // Who exchanges before the first installment, on hold from the signing, never pays the introductory one; the first is a month's.
            var months = charge == installments[0] && charge.TermsIndex == 0 && state.History.Signing.Terms.Introductory.Months is > 0 and var first ? first : 1;
            var anchor = Start(state.History);
            var slot = 0;
            while (anchor.PlusMonths(slot) < charge.DueOn) { slot++; }
            var period = new Spread(charge.DueOn, anchor.PlusMonths(slot + months));
            if (WasEndedSince(state, rates, charge.DueOn)) { continue; }
            rest += charge.Of(part) - period.Through(charge.Of(part), state.On);
        }

        return rest;
    }

    /// <summary>The day from which periods are counted: the one signed, or that of the delivery recorded last.</summary>
    private static LocalDate Start(ContractHistory history) => history.Signing.StartsAtDelivery
        ? history.Facts.Where(fact => fact.Event is ContractEvent.InstrumentDelivered).MaxBy(fact => fact.Sequence) is { Event: ContractEvent.InstrumentDelivered last } ? last.DeliveredOn ?? last.On : history.Signing.StartOn
        : history.Signing.StartOn;

    /// <summary>Whether the contract ended between a day and now, and came back since.</summary>
    private static bool WasEndedSince(AccountState state, ReferenceData rates, LocalDate day)
    {
        for (var on = day; on < state.On; on = on.PlusDays(1))
        {
            if (AccountFold.At(state.History, rates, on) is { HasEnded: true }) { return true; }
        }

        return false;
    }

    private static Money OnSales(AccountState state) => Total(state.History.Facts.Where(fact => fact.Event.On <= state.On).Select(fact => fact.Event switch
    {
        ContractEvent.SteppedUp e when !state.IsOvertaken(fact.Sequence) => e.Credit,
        ContractEvent.MerchandiseCreditSpent e => e.Amount,
        _ => Money.Zero,
    }));

    private static Money MoneyIn(AccountState state)
    {
        var facts = state.History.Facts.Where(fact => fact.Event.On <= state.On).ToList();
        var reversed = facts.Select(fact => fact.Event).OfType<ContractEvent.PaymentReversed>().Select(e => e.Payment).ToHashSet();
        return Total(facts.Select(fact => fact.Event switch
        {
            ContractEvent.PaymentReceived e when !reversed.Contains(fact.Key) => e.Amount,
            ContractEvent.BoughtEarly e when !reversed.Contains(fact.Key) => e.Amount,
            ContractEvent.RefundIssued e => Money.Zero - e.Amount,
            _ => Money.Zero,
        }));
    }

    private static Money Total(IEnumerable<Money> amounts) => amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);
}
