using Contracts.Agreements;
using Contracts.Books.Depreciation;
using Contracts.History;
using Contracts.Payments;
using NodaTime;

namespace Contracts.Books.Month;

/// <summary>Money that came in or went out in the month, by how and under which reference.</summary>
public readonly record struct CashKey(string Method, string Reference, string What);

/// <summary>
/// What a month needs of every contract, gathered one account at a time at the end of the month: who owes what since
/// when, the units, the money by reference, and the sums the books must agree with.
/// </summary>
public sealed class PortfolioMonth(LocalDate first, LocalDate last)
{
    private static readonly int[] Bounds = [0, 30, 60, 90];

    private readonly FleetMoves fleet = new();

    /// <summary>How many buckets the ageing has: not past its day, 1 to 30, 31 to 60, 61 to 90, over 90 days.</summary>
    public const int Buckets = 5;

    public SortedDictionary<string, long> Statuses { get; } = new(StringComparer.Ordinal);

    /// <summary>Contracts by what happened to them in the month.</summary>
    public SortedDictionary<string, long> Events { get; } = new(StringComparer.Ordinal);

    /// <summary>What is owed by receivable and age.</summary>
    public Dictionary<BookAccount, Money[]> Ageing { get; } = [];

    /// <summary>Contracts that owe something, with the age of each part.</summary>
    public SortedDictionary<string, Money[]> Debtors { get; } = new(StringComparer.Ordinal);

    public Dictionary<CashKey, (long Count, Money Amount)> Cash { get; } = [];

    /// <summary>The balances that the accounts, each folded from its own history, add up to.</summary>
    public Dictionary<(BookAccount Account, string Authority), Money> Folded { get; } = [];

    /// <summary>Sums of printed figures that a control account must show.</summary>
    public Dictionary<string, Money> Figures { get; } = new(StringComparer.Ordinal);

    /// <summary>What the month was taxed on, as booked in it.</summary>
    public TaxSums Taxes { get; } = new(first);

    public long Contracts { get; private set; }

    /// <summary>Contracts for which something fell due by the end of the month that no billing run has recorded.</summary>
    public long Unbilled { get; private set; }

    /// <summary>Units placed without a cost.</summary>
    public long UnitsWithoutCost => fleet.WithoutCost;

    public void Add(ContractHistory history, BookedAccount booked, bool isBilled)
    {
        Contracts++;
        if (!isBilled) { Unbilled++; }
        var state = booked.State;
        Count(Statuses, state.StatusWord);
        foreach (var line in booked.Lines)
        {
            var key = (line.Account, line.Authority);
            Folded[key] = Folded.GetValueOrDefault(key) + line.Through(last);
        }

        AddFigures(state);
        foreach (var item in state.OpenItems) { Age(history.Contract, item); }
        fleet.Add(booked.Units);
        foreach (var move in booked.TaxMoves) { Taxes.Add(move); }
        foreach (var fact in history.Facts) { AddFact(fact, history, state); }
    }

    /// <summary>The fleet as depreciation needs it: every unit with a cost, from when it first went out until it left for good.</summary>
    public IReadOnlyList<DepreciableUnit> Fleet(PropertyClass taxClass) => fleet.Units(taxClass);

    /// <summary>Whether a unit that has left was lost rather than sold.</summary>
    public bool WasLost(string serial) => fleet.WasLost(serial);

    private void AddFigures(AccountState state)
    {
        Figure("past due", state.PastDue);
        Figure("unapplied credit", state.UnappliedCredit);
        Figure("goodwill credit", state.GoodwillCredit);
        Figure("merchandise credit", state.MerchandiseCredit);
        Figure("written off", state.WrittenOff);
        if (state.Status is ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold or ContractStatus.Lost) { Figure("equity", state.Equity); }
    }

    private void Figure(string name, Money amount) => Figures[name] = Figures.GetValueOrDefault(name) + amount;

    private void Age(string contract, ChargeItem item)
    {
        var days = Period.DaysBetween(item.Charge.DueOn, last);
        var bucket = Bounds.Count(bound => days > bound);
        Put(Ageing, ChargeRules.Receivable(item.Charge.Kind), bucket, item.Open);
        Put(Debtors, contract, bucket, item.Open);
    }

    private static void Put<TKey>(IDictionary<TKey, Money[]> ages, TKey key, int bucket, Money amount)
    {
        if (!ages.TryGetValue(key, out var buckets)) { ages[key] = buckets = new Money[Buckets]; }
        buckets[bucket] += amount;
    }

    private void AddFact(Recorded fact, ContractHistory history, AccountState state)
    {
        if (fact.Event.On < first || fact.Event.On > last) { return; }
        switch (fact.Event)
        {
            case ContractEvent.PaymentReceived e: Pay(e.Method, e.Reference, "received", e.Amount); break;
            case ContractEvent.BoughtEarly e:
                Pay(e.Method, e.Reference, "received", e.Amount);
                CountUnless(state, fact, "bought early");
                break;
            case ContractEvent.RefundIssued e: Pay("refund", null, "refunded", Money.Zero - e.Amount); break;
            case ContractEvent.PaymentReversed e: Reverse(e, history); break;
            case ContractEvent.Signed: Count(Events, "signed"); break;
            case ContractEvent.Returned: CountUnless(state, fact, "returned"); break;
            case ContractEvent.InstrumentExchanged: CountUnless(state, fact, "exchanged"); break;
            case ContractEvent.InstrumentSwapped: CountUnless(state, fact, "swapped"); break;
            case ContractEvent.SteppedUp: CountUnless(state, fact, "stepped up"); break;
            case ContractEvent.LossReported: CountUnless(state, fact, "lost or stolen"); break;
            default: break; // Neither money nor a turn in the contract's life.
        }
    }

    private void Reverse(ContractEvent.PaymentReversed reversal, ContractHistory history)
    {
        foreach (var fact in history.Facts)
        {
            if (fact.Key != reversal.Payment) { continue; }
            var (method, reference, amount) = fact.Event switch
            {
                ContractEvent.PaymentReceived e => (e.Method, e.Reference, e.Amount),
                ContractEvent.BoughtEarly e => (e.Method, e.Reference, e.Amount),
                _ => ("", null, Money.Zero),
            };
            Pay(method, reference, $"reversed {reversal.Code}", Money.Zero - amount);
        }
    }

    private void Pay(string method, string? reference, string what, Money amount)
    {
        var key = new CashKey(method, reference ?? "", what);
        var (count, sum) = Cash.GetValueOrDefault(key);
        Cash[key] = (count + 1, sum + amount);
    }

    private void CountUnless(AccountState state, Recorded fact, string what)
    {
        if (!state.IsOvertaken(fact.Sequence)) { Count(Events, what); }
    }

    private static void Count(SortedDictionary<string, long> counts, string what) => counts[what] = counts.GetValueOrDefault(what) + 1;
}
