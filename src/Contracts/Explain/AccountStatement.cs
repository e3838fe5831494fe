using System.Collections.Immutable;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Explain;

/// <summary>What moved the balance of a statement. The order is that of the sums.</summary>
public enum MovementKind
{
    /// <summary>Something fell due or was sold.</summary>
    Charge,

    /// <summary>A charge was let off or taken back, whatever had paid it.</summary>
    TakenBack,

    /// <summary>Money came in.</summary>
    Payment,

    /// <summary>A payment was taken back, by the bank or as an entry error; what of it had been refunded is owed with it.</summary>
    Reversal,

    /// <summary>Goodwill was given.</summary>
    Goodwill,

    /// <summary>Money was given back.</summary>
    Refund,
}

/// <summary>One movement of a statement.</summary>
/// <param name="On">The day it counts on.</param>
/// <param name="Kind">What it was.</param>
/// <param name="Says">The same in trade words.</param>
/// <param name="Id">The id of the charge, or the key of the payment, credit, refund or reversal.</param>
/// <param name="Event">The event's number in the store's order, or null for what a day brought by itself.</param>
/// <param name="Amount">What it added to the balance; what the family brings or is let off is negative.</param>
/// <param name="Balance">The balance after it.</param>
public sealed record Movement(LocalDate On, MovementKind Kind, string Says, string Id, long? Event, Money Amount, Money Balance);

/// <summary>Where a statement begins or ends.</summary>
/// <param name="Balance">What is past due, less money and goodwill that wait; below zero the family has that much to its credit.</param>
/// <param name="PastDue">What is unpaid of what fell due.</param>
/// <param name="UnappliedCredit">Money that waits for what falls due.</param>
/// <param name="GoodwillCredit">Goodwill that waits.</param>
/// <param name="Equity">The rental equity.</param>
/// <param name="RemainingToOwn">What is left to own; zero before a signing too.</param>
public sealed record StatementFigures(Money Balance, Money PastDue, Money UnappliedCredit, Money GoodwillCredit, Money Equity, Money RemainingToOwn)
{
    /// <summary>Before anything was signed.</summary>
    public static StatementFigures None { get; } = new(Money.Zero, Money.Zero, Money.Zero, Money.Zero, Money.Zero, Money.Zero);

    internal static StatementFigures Of(AccountState? state)
    {
        if (state is null) { return None; }
        var account = Account.Of(state, default);
        return new StatementFigures(
            account.PastDue - account.UnappliedCredit - account.GoodwillCredit, account.PastDue, account.UnappliedCredit, account.GoodwillCredit,
            account.Equity, account.RemainingToOwn);
    }
}

/// <summary>
/// One contract from one day through another as known at a moment: how it stood before the first day, everything that moved what is owed, and how it
/// stood at the end of the last. The balance before and the movements make the balance after, to the cent.
/// </summary>
/// <param name="Contract">Which contract.</param>
/// <param name="From">The first day.</param>
/// <param name="Through">The last day.</param>
/// <param name="Opening">How it stood at the end of the day before the first.</param>
/// <param name="Movements">What moved the balance, in the order in which it counts.</param>
/// <param name="Closing">How it stood at the end of the last day; both ends come from the account's own figures and not from the movements.</param>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
public sealed record AccountStatement(
    string Contract, LocalDate From, LocalDate Through, StatementFigures Opening, ImmutableArray<Movement> Movements, StatementFigures Closing)
{
    /// <summary>The statement, or null where the contract was not signed by the last day. The first day must not be after it.</summary>
    /// <param name="history">What is known of the contract.</param>
    /// <param name="rates">What is known of tax rates and law packs.</param>
    /// <param name="from">The first day, or null for the day of signing.</param>
    /// <param name="through">The last day.</param>
    public static AccountStatement? Of(ContractHistory history, ReferenceData rates, LocalDate? from, LocalDate through)
    {
        StatementTrace? trace = null;
        if (AccountFold.At(history, rates, through, () => trace = new StatementTrace()) is not { } state) { return null; }
        var first = from ?? history.Signing.On;
        ArgumentOutOfRangeException.ThrowIfGreaterThan(first, through, nameof(from));
        var opening = StatementFigures.Of(AccountFold.At(history, rates, first.PlusDays(-1)));
        var balance = opening.Balance;
        var movements = ImmutableArray.CreateBuilder<Movement>();
        foreach (var movement in trace!.Movements)
        {
            if (movement.On < first) { continue; }
            balance += movement.Amount;
            movements.Add(movement with { Balance = balance });
        }

        return new AccountStatement(history.Contract, first, through, opening, movements.ToImmutable(), StatementFigures.Of(state));
    }

    /// <summary>What the movements of a kind add to the balance.</summary>
    public Money Sum(MovementKind kind) => Movements.Where(one => one.Kind == kind).Aggregate(Money.Zero, (sum, one) => sum + one.Amount);
}
