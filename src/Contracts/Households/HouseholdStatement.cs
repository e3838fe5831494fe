using System.Collections.Immutable;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Households;

/// <summary>One contract in its family's statement.</summary>
/// <param name="Contract">Its id.</param>
/// <param name="Kind">The kind of instrument.</param>
/// <param name="Serial">The unit.</param>
/// <param name="Status">How it stands on the last day.</param>
/// <param name="Opening">Its figures at the end of the day before the first.</param>
/// <param name="Closing">Its figures at the end of the last day.</param>
/// <param name="NextDue">The next installment, or null where none will fall due.</param>
public sealed record HouseholdContract(
    string Contract, string Kind, string Serial, string Status, StatementFigures Opening, StatementFigures Closing, NextDue? NextDue);

/// <summary>One movement of a contract, and the family's balance after it.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Movement">The movement; its own balance is the contract's.</param>
/// <param name="Balance">What is owed less what waits, over all contracts.</param>
public sealed record HouseholdMovement(string Contract, Movement Movement, Money Balance);

/// <summary>
/// All contracts of a family from one day through another as known at a moment. What each ends with and began with are its own account's figures; the
/// movements of all lie in the order of their days, and lead from the one sum to the other to the cent.
/// </summary>
/// <param name="Household">The family's reference.</param>
/// <param name="From">The first day.</param>
/// <param name="Through">The last day.</param>
/// <param name="Contracts">Its contracts that were signed by the last day, in the order of their ids.</param>
/// <param name="Movements">What moved what is owed.</param>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
public sealed record HouseholdStatement(
    string Household, LocalDate From, LocalDate Through, ImmutableArray<HouseholdContract> Contracts, ImmutableArray<HouseholdMovement> Movements)
{
    /// <summary>What was owed less what waited before the first day, over all contracts.</summary>
    public Money Opening => Sum(static one => one.Opening.Balance);

    /// <summary>The same at the end of the last day.</summary>
    public Money Closing => Sum(static one => one.Closing.Balance);

    /// <summary>What is past due at the end of the last day, over all contracts; what waits on one pays nothing of another.</summary>
    public Money PastDue => Sum(static one => one.Closing.PastDue);

    /// <summary>The statement, or null where no contract was signed by the last day. The first day must not be after it.</summary>
    /// <param name="household">The family's reference.</param>
    /// <param name="histories">What is known of its contracts.</param>
    /// <param name="rates">What is known of tax rates and law packs.</param>
    /// <param name="from">The first day, or null for the day of the first signing.</param>
    /// <param name="through">The last day.</param>
    public static HouseholdStatement? Of(
        string household, IEnumerable<ContractHistory> histories, ReferenceData rates, LocalDate? from, LocalDate through)
    {
        ContractHistory[] signed =
            [.. histories.Where(one => one.IsSigned && one.Signing.On <= through).OrderBy(one => one.Contract, StringComparer.Ordinal)];
        if (signed.Length == 0) { return null; }
        var first = from ?? signed.Min(one => one.Signing.On);
        var contracts = ImmutableArray.CreateBuilder<HouseholdContract>();
        var movements = new List<(string Contract, Movement Movement)>();
        foreach (var history in signed)
        {
            var statement = AccountStatement.Of(history, rates, first, through)!;
            var account = Account.Of(AccountFold.At(history, rates, through)!, default);
            contracts.Add(new HouseholdContract(
                history.Contract, account.Kind, account.Serial, account.Status, statement.Opening, statement.Closing, account.NextDue));
            movements.AddRange(statement.Movements.Select(movement => (history.Contract, movement)));
        }

        var balance = contracts.Aggregate(Money.Zero, static (sum, one) => sum + one.Opening.Balance);
        // The sort is stable: of one day each contract's movements stay together and in their own order.
        return new HouseholdStatement(household, first, through, contracts.ToImmutable(),
            [.. movements.OrderBy(one => one.Movement.On).Select(one => new HouseholdMovement(one.Contract, one.Movement, balance += one.Movement.Amount))]);
    }

    private Money Sum(Func<HouseholdContract, Money> of) => Contracts.Aggregate(Money.Zero, (sum, one) => sum + of(one));
}
