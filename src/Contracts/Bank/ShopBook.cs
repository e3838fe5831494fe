using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Equity;
using Contracts.History;
using NodaTime;

namespace Contracts.Bank;

/// <summary>A payment that is recorded and stands.</summary>
/// <param name="Contract">The contract it was paid on.</param>
/// <param name="Key">The key it was recorded under.</param>
/// <param name="Reference">What the counter or the bank called it, or null.</param>
/// <param name="Amount">How much.</param>
/// <param name="On">Its day.</param>
/// <param name="Method">How the money travelled, as whoever recorded it said.</param>
public sealed record KnownPayment(string Contract, string Key, string? Reference, Money Amount, LocalDate On, string Method = "bank");

/// <summary>What a bank's line is held against: one contract, its dues and its payments of late.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Household">Whose it is.</param>
/// <param name="IsOpen">Whether it still runs.</param>
/// <param name="PastDue">What is past due.</param>
/// <param name="NextDue">What falls due next, or null.</param>
/// <param name="Payoff">What buying it today costs with tax and all that is past due; zero where it cannot be bought.</param>
/// <param name="Payments">Payments that stand, the last of them.</param>
/// <param name="TakenBack">Payments of late that were taken back.</param>
public sealed record Standing(
    string Contract, string Household, bool IsOpen, Money PastDue, NextDue? NextDue, Money Payoff, IReadOnlyList<KnownPayment> Payments,
    IReadOnlyList<KnownPayment> TakenBack)
{
    /// <summary>The standing of a contract on a day, or null before it was signed.</summary>
    /// <param name="history">What is known of it.</param>
    /// <param name="state">Its account on the day.</param>
    /// <param name="paymentsFrom">The first day whose payments are looked at.</param>
    public static Standing Of(ContractHistory history, AccountState state, LocalDate paymentsFrom)
    {
        var account = Account.Of(state, Instant.MaxValue);
        var reversed = history.Facts.Select(fact => (fact.Event as ContractEvent.PaymentReversed)?.Payment).OfType<string>().ToHashSet(StringComparer.Ordinal);
        var (payments, back) = (new List<KnownPayment>(), new List<KnownPayment>());
        foreach (var fact in history.Facts)
        {
            if (fact.Event.On < paymentsFrom) { continue; }
            var list = reversed.Contains(fact.Key) ? back : payments;
            switch (fact.Event)
            {
                case ContractEvent.PaymentReceived paid: list.Add(new KnownPayment(history.Contract, fact.Key, paid.Reference, paid.Amount, paid.On, paid.Method)); break;
                case ContractEvent.BoughtEarly bought: list.Add(new KnownPayment(history.Contract, fact.Key, bought.Reference, bought.Amount, bought.On, bought.Method)); break;
                default: break;
            }
        }

        return new Standing(
            history.Contract, history.Signing.Household, !state.HasEnded, account.PastDue, account.NextDue,
            state.HasEnded ? Money.Zero : EarlyPurchase.On(state).Payoff, payments, back);
    }

    /// <summary>Whether an amount is what is owed: what is past due, what falls due next within so many days, or both.</summary>
    public bool Owes(Money amount, LocalDate day, int daysAround)
    {
        if (PastDue.IsPositive && amount == PastDue) { return true; }
        if (NextDue is not { } next || Period.Between(day, next.On, PeriodUnits.Days).Days is var days && Math.Abs(days) > daysAround) { return false; }
        return amount == next.Amount || (PastDue.IsPositive && amount == PastDue + next.Amount);
    }
}

/// <summary>Every contract of the shop as a bank's line is held against it: found by id, by household, by payment and by what is owed.</summary>
public sealed class ShopBook
{
    private readonly Dictionary<string, List<Standing>> contracts = new(StringComparer.OrdinalIgnoreCase);
    private readonly Dictionary<string, List<Standing>> households = new(StringComparer.OrdinalIgnoreCase);
    private readonly Dictionary<string, List<KnownPayment>> references = new(StringComparer.OrdinalIgnoreCase);
    private readonly Dictionary<Money, List<Standing>> owed = [];
    private readonly Dictionary<string, List<KnownPayment>> made = new(StringComparer.Ordinal);
    private readonly HashSet<string> gone = new(StringComparer.Ordinal);
    private readonly HashSet<string> arrived = new(StringComparer.Ordinal);

    /// <summary>How many days before or after it falls due an installment is looked for.</summary>
    public const int DaysAround = 10;

    /// <summary>Puts a contract in. Banks write in capitals, so ids are compared without regard to case.</summary>
    public void Add(Standing standing)
    {
        Put(contracts, standing.Contract, standing);
        Put(households, standing.Household, standing);
        foreach (var payment in standing.Payments)
        {
            Put(references, payment.Key, payment);
            if (payment.Reference is { } reference && !string.Equals(reference, payment.Key, StringComparison.OrdinalIgnoreCase)) { Put(references, reference, payment); }
        }

        var amounts = new HashSet<Money>();
        if (standing.PastDue.IsPositive) { amounts.Add(standing.PastDue); }
        if (standing.NextDue is { } next) { amounts.UnionWith([next.Amount, next.Amount + standing.PastDue]); }
        foreach (var amount in amounts) { Put(owed, amount, standing); }
    }

    /// <summary>Says what became of a line, so that the lines after it are held against it too.</summary>
    /// <param name="entry">The line.</param>
    /// <param name="found">What it is about.</param>
    public void Took(BankEntry entry, Finding found)
    {
        switch (found)
        {
            case Finding.Arrived arrival:
                foreach (var payment in arrival.Payments) { Saw(payment.Key); }
                break;
            case Finding.CameBack several:
                foreach (var payment in several.Payments) { gone.Add(payment.Key); }
                break;
            case Finding.Matched { Body: ContractCommand.ReversePayment back }: gone.Add(back.Payment); break;
            case Finding.Matched { Body: ContractCommand.Pay paid } of:
                var one = new KnownPayment(of.Contract, WaitingEntry.KeyOf(entry.Id), paid.Reference, paid.Amount, entry.BookedOn, paid.Method);
                Put(made, one.Contract, one);
                Put(references, one.Key, one);
                if (one.Reference is { } reference) { Put(references, reference, one); }
                break;
            default: break; // Nothing was recorded of a contract.
        }
    }

    /// <summary>The payments of a contract that stand, those of this file among them.</summary>
    public IEnumerable<KnownPayment> Payments(Standing standing) =>
        standing.Payments.Concat(made.GetValueOrDefault(standing.Contract) ?? []).Where(payment => !gone.Contains(payment.Key));

    /// <summary>The payments of a contract that were taken back, those that a line of this file took back among them.</summary>
    public IEnumerable<KnownPayment> TakenBack(Standing standing) =>
        standing.TakenBack.Concat(standing.Payments.Concat(made.GetValueOrDefault(standing.Contract) ?? []).Where(payment => gone.Contains(payment.Key)));

    /// <summary>Says that the money of a payment was seen on the account already.</summary>
    public void Saw(string payment) => arrived.Add(payment);

    /// <summary>The contracts of an id; more than one only where two differ by capital letters.</summary>
    public IReadOnlyList<Standing> Contract(string id) => contracts.GetValueOrDefault(id) ?? [];

    /// <summary>The contracts of a household.</summary>
    public IReadOnlyList<Standing> Household(string id) => households.GetValueOrDefault(id) ?? [];

    /// <summary>The payments that have a reference or a key.</summary>
    public IReadOnlyList<KnownPayment> Payments(string reference) => references.GetValueOrDefault(reference)?.FindAll(payment => !gone.Contains(payment.Key)) ?? [];

    /// <summary>Whether the money of a payment was seen on the account already.</summary>
    public bool HasArrived(KnownPayment payment) => WaitingEntry.IsKey(payment.Key) || arrived.Contains(payment.Key);

    /// <summary>The contracts that owe exactly an amount around a day, in the order of their ids.</summary>
    public IReadOnlyList<Standing> Owing(Money amount, LocalDate day) =>
        owed.GetValueOrDefault(amount) is { } some
            ? [.. some.Where(one => one.Owes(amount, day, DaysAround)).OrderBy(one => one.Contract, StringComparer.Ordinal)]
            : [];

    private static void Put<TKey, T>(Dictionary<TKey, List<T>> index, TKey key, T value)
        where TKey : notnull
    {
        if (!index.TryGetValue(key, out var list)) { index[key] = list = new List<T>(1); }
        list.Add(value);
    }
}
