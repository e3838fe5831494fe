using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Payments;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>
/// What must hold in every life, whatever happens in it. Lives are generated from a seed; a failure prints the seed,
/// and <c>Life.Generate(seed)</c> repeats it.
/// </summary>
public sealed class InvariantTests
{
    /// <summary>How many lives each invariant is tried on; ten thousand lives over all of them at the least.</summary>
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "2000", System.Globalization.CultureInfo.InvariantCulture);

    private static void InEveryLife(Action<Life> holds) =>
        Gen.Int[0, int.MaxValue].Sample(seed => holds(Life.Generate(seed)), iter: Lives);

    [Fact]
    public void Equity_stays_within_the_price_and_every_cent_received_is_somewhere() => InEveryLife(life =>
    {
        for (var question = 0; question < 4; question++)
        {
            var (on, known) = life.Question();
            if (life.Shop.Account(life.Contract, on, known) is not { } account) { continue; }
            var state = AccountFold.At(life.Shop.History(life.Contract).AsKnownAt(known), life.Shop.RatesAt(known), on)!;
            Assert.InRange(account.Equity.Cents, 0, state.Terms.PurchasePrice.Cents);
            Assert.Equal(Received(state), Placed(state, account));
            var counted = account.Equity + account.MerchandiseCredit + SpentBy(state);
            Assert.True(counted == state.RentCredit || (counted > state.RentCredit && account.MerchandiseCredit == Money.Zero), $"{counted} of {state.RentCredit} on {on}");
            var sum = account.Paid.Rent + account.Paid.Plan + account.Paid.Tax + account.Paid.Fees
                + account.Paid.Accessories + account.Paid.Purchase;
            Assert.Equal(account.Paid.Total, sum);
            Assert.Equal(account.PastDue, Total(account.OpenItems.Select(item => item.Open)));
        }
    });

    [Fact]
    public void Every_total_that_papers_show_is_the_sum_of_the_events_listed_for_it() => InEveryLife(life =>
    {
        var (on, known) = life.Question();
        var history = life.Shop.History(life.Contract).AsKnownAt(known);
        if (!history.IsSigned || AccountFold.At(history, life.Shop.RatesAt(known), on) is not { } state) { return; }
        var facts = history.Facts.ToDictionary(fact => fact.Sequence);
        foreach (var total in TracedTotal.Of(state))
        {
            Assert.True(total.Amount == Total(total.Parts.Select(part => part.Amount)), $"{total.Figure} {total.Amount} on {on}: {string.Join("; ", total.Parts)}");
            Assert.All(total.Parts, part => Assert.True(facts[part.Sequence].Event.On <= on && facts[part.Sequence].Key == part.Key, $"{part}"));
        }
    });

    [Fact]
    public void What_was_known_at_a_moment_never_changes_when_more_is_learned() => InEveryLife(life =>
    {
        var entries = life.Shop.History(life.Contract).Entries;
        var (on, _) = life.Question();
        var known = entries[entries.Length / 2].At;
        var then = ContractHistory.Of(life.Contract, [.. entries.Where(entry => entry.At <= known)]);
        var before = AccountFold.At(then, life.Shop.RatesAt(known), on);
        var now = life.Shop.Account(life.Contract, on, known);
        Assert.Equal(before is null ? null : Text(Account.Of(before, known)), now is null ? null : Text(now));
    });

    [Fact]
    public void The_order_of_recording_does_not_matter_as_long_as_days_keep_theirs() => InEveryLife(life =>
    {
        var history = life.Shop.History(life.Contract);
        var (on, _) = life.Question();
        // Fees of one day are paid in the order of the swaps that bring them, and a swap is never recorded before an earlier one (later-event): the one
        // order of recording that could tell two such fees apart cannot come about.
        if (history.Facts.Select(fact => fact.Event).OfType<ContractEvent.InstrumentSwapped>().GroupBy(swap => swap.ReturnBy).Any(same => same.Count() > 1)) { return; }
        var byDay = history.Facts.GroupBy(fact => fact.Event.On).OrderByDescending(day => day.Key);
        var sequence = 0L;
        var reordered = ContractHistory.Of(
            life.Contract, [.. byDay.SelectMany(day => day).Select(fact => fact with { Sequence = ++sequence })]);
        var rates = life.Shop.RatesAt(Instant.MaxValue);
        Assert.Equal(Figures(AccountFold.At(history, rates, on)), Figures(AccountFold.At(reordered, rates, on)));
    });

    [Fact]
    public void One_more_payment_never_shows_a_higher_price_or_payoff() => InEveryLife(life =>
    {
        var history = life.Shop.History(life.Contract);
        var rates = life.Shop.RatesAt(Instant.MaxValue);
        var (on, _) = life.Question();
        if (AccountFold.At(history, rates, on) is not { } state) { return; }
        var paidOn = LocalDate.Min(on, life.SignedOn.PlusDays(Math.Abs(on.Day * 13) % 200));
        var payment = new Recorded(
            new ContractEvent.PaymentReceived(new Money(1 + (on.Day * 517)), "cash", null) { On = paidOn },
            history.Entries[^1].Sequence + 1, history.Entries[^1].At, "more", null, null, null);
        var richer = AccountFold.At(history.Evolve(payment), rates, on)!;
        // Where the payment makes an event impossible, or turns equity into merchandise credit at an exchange, the account
        // is another one and may owe more: docs/money.md, "Readings".
        if (Overtaken(state) != Overtaken(richer) || state.RentCredit - state.Equity != richer.RentCredit - richer.Equity) { return; }
        var (before, after) = (Account.Of(state, default).EarlyPurchase, Account.Of(richer, default).EarlyPurchase);
        Assert.True(after.Price <= before.Price, $"price {before.Price} -> {after.Price} on {on}");
        // Goodwill pays no rent: where the money pays the tax or plan that goodwill would have paid, that goodwill waits and rent is
        // open in its place (seed 2136573961). What is to be paid may grow by so much and no more.
        var waiting = Money.Max(Money.Zero, richer.GoodwillCredit - state.GoodwillCredit);
        // A payment that bounces opens what it paid, and with more money before it that is another installment, which may bring the
        // late fee that the other did not (seed 843290818). By so much too.
        var late = history.Facts.Any(fact => fact.Event is ContractEvent.PaymentReversed) ? Money.Max(Money.Zero, Late(richer) - Late(state)) : Money.Zero;
        Assert.True(after.Payoff <= before.Payoff + waiting + late, $"payoff {before.Payoff} -> {after.Payoff} on {on}");
    });

    [Fact]
    public void A_repeated_key_changes_nothing_and_billing_moves_no_figure() => InEveryLife(life =>
    {
        var (on, _) = life.Question();
        var before = life.Shop.Account(life.Contract, on);
        foreach (var (command, _, _) in life.Shop.Accepted.ToList())
        {
            Assert.Null(life.Shop.Apply(command.ToJsonString()));
        }

        var billed = $$"""{"do":"bill","key":"last","at":"{{NodaTime.Text.InstantPattern.ExtendedIso.Format(life.LastRecorded)}}","through":"2030-01-01"}""";
        Assert.Null(life.Shop.Apply(billed));
        Assert.Null(life.Shop.Apply(billed.Replace("last", "last-again", StringComparison.Ordinal)));
        var after = life.Shop.Account(life.Contract, on);
        Assert.Equal(before is null ? null : TextOf(before), after is null ? null : TextOf(after));
    });

    private static Money Late(AccountState state) =>
        Total(state.Charges.Where(charge => charge is { Kind: ChargeKind.Late, ReversedOn: null }).SelectMany(charge => charge.Items).Select(item => item.Charged));

    private static int Overtaken(AccountState state) => state.History.Facts.Count(fact => state.IsOvertaken(fact.Sequence));

    private static Money SpentBy(AccountState state) =>
        Total(state.History.Facts.Select(fact => fact.Event).OfType<ContractEvent.MerchandiseCreditSpent>().Where(e => e.On <= state.On).Select(e => e.Amount));

    private static Money Received(AccountState state)
    {
        var amounts = state.History.Facts.Where(fact => fact.Event.On <= state.On).Select(fact => fact.Event switch
        {
            ContractEvent.PaymentReceived e => e.Amount,
            ContractEvent.BoughtEarly e => e.Amount,
            _ => Money.Zero,
        });
        return Total(amounts);
    }

    private static Money Placed(AccountState state, Account account)
    {
        var facts = state.History.Facts.Where(fact => fact.Event.On <= state.On).ToList();
        var reversed = facts.Select(fact => fact.Event).OfType<ContractEvent.PaymentReversed>().Select(r => r.Payment).ToHashSet();
        var returned = Total(facts.Where(fact => reversed.Contains(fact.Key)).Select(fact => fact.Event switch
        {
            ContractEvent.PaymentReceived e => e.Amount,
            ContractEvent.BoughtEarly e => e.Amount,
            _ => Money.Zero,
        }));
        var refunded = Total(facts.Select(fact => fact.Event).OfType<ContractEvent.RefundIssued>().Select(e => e.Amount));
        var toRecover = Total(account.OpenItems.Where(item => item.Kind == "refund-to-recover").Select(item => item.Open));
        return account.Paid.Total + account.UnappliedCredit - toRecover + refunded + returned;
    }

    private static Money Total(IEnumerable<Money> amounts) => amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);

    private static string? Figures(AccountState? state) => state is null ? null : TextOf(Account.Of(state, default));

    /// <summary>The figures without the counters that say how much has been recorded.</summary>
    private static string TextOf(Account account) => Text(account with { Events = 0, LastSequence = 0, Known = default });

    private static string Text(Account account) => AccountText.Of(account);
}
