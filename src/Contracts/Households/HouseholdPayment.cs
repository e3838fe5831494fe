using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using NodaTime;

namespace Contracts.Households;

/// <summary>
/// Decides how one payment of a family is dealt out over its contracts. What a contract does with its share is for the rules of the contract.
/// </summary>
public static class HouseholdPayment
{
    private const string KeyPrefix = "share:";

    /// <summary>The key of the payment that a share makes on its contract; it is what a reversal names.</summary>
    /// <param name="payment">The key of the family's payment.</param>
    /// <param name="share">Which share of it, counted from zero.</param>
    public static string KeyOf(string payment, int share) => $"{KeyPrefix}{payment}:{share + 1}";

    /// <summary>
    /// The shares of a payment, or why there are none: those that are said; else what is past due over all contracts, the oldest day first, and then the next
    /// installment of each, the nearest day first. Of one day the contract whose id comes first goes first. More than that needs shares that are said: whether
    /// a family means to pay ahead, and on what, is not guessed.
    /// </summary>
    /// <param name="household">The family's reference.</param>
    /// <param name="paid">All of the payment.</param>
    /// <param name="said">The shares that are said; empty where none are.</param>
    /// <param name="contracts">The family's contracts at the end of the payment's day, in any order.</param>
    public static (ImmutableArray<EntryShare> Shares, Refusal? Refusal) Split(
        string household, Money paid, ImmutableArray<EntryShare> said, IReadOnlyList<AccountState> contracts)
    {
        if (contracts.Count == 0)
        {
            return ([], new Refusal(RefusalCode.HouseholdWithoutContract, $"{household} has signed no contract by that day.", "household"));
        }

        if (!said.IsEmpty) { return SaidFault(household, paid, said, contracts) is { } fault ? ([], fault) : (said, null); }
        var (shares, left) = (new SortedDictionary<string, Money>(StringComparer.Ordinal), paid);
        foreach (var (_, contract, amount) in contracts.SelectMany(Asked).OrderBy(one => one.DueOn).ThenBy(one => one.Contract, StringComparer.Ordinal))
        {
            var part = left < amount ? left : amount;
            if (!part.IsPositive) { continue; }
            shares[contract] = shares.GetValueOrDefault(contract) + part;
            left -= part;
        }

        return left.IsPositive
            ? ([], new Refusal(
                RefusalCode.HouseholdPaymentUnclear, $"{paid - left} is past due or falls due next; say by shares what the rest is for.", "amount", (paid - left).ToString()))
            : ([.. shares.Select(one => new EntryShare(one.Key, one.Value))], null);
    }

    /// <summary>The commands that carry the shares out, each with its own key.</summary>
    public static ImmutableArray<Command.OnContract> Payments(Command.PayHousehold command, ImmutableArray<EntryShare> shares) =>
    [
        .. shares.Select((share, index) => new Command.OnContract(
            share.Contract, command.On, new ContractCommand.Pay(share.Amount, command.Method, command.Reference))
        {
            Origin = command.Origin with
            {
                Key = KeyOf(command.Origin.Key, index),
                Reason = command.Origin.Reason ?? $"of the payment of {command.Amount} by {command.Household}",
            },
        }),
    ];

    private static Refusal? SaidFault(string household, Money paid, ImmutableArray<EntryShare> said, IReadOnlyList<AccountState> contracts)
    {
        var sum = said.Aggregate(Money.Zero, (total, share) => total + share.Amount);
        if (sum != paid)
        {
            return new Refusal(RefusalCode.HouseholdSharesDiffer, $"The shares add up to {sum}; the payment is {paid}.", "shares", paid.ToString());
        }

        if (said.DistinctBy(share => share.Contract).Count() < said.Length || said.Any(share => !share.Amount.IsPositive))
        {
            return new Refusal(RefusalCode.HouseholdSharesDiffer, "Each contract has one share, above zero.", "shares");
        }

        return said.FirstOrDefault(share => contracts.All(one => one.History.Contract != share.Contract)) is { } other
            ? new Refusal(RefusalCode.HouseholdContractOther, $"{other.Contract} is no contract of {household} on that day.", "shares")
            : null;
    }

    /// <summary>What is past due, charge by charge, and the next installment, less money that waits for it.</summary>
    private static IEnumerable<(LocalDate DueOn, string Contract, Money Amount)> Asked(AccountState state)
    {
        foreach (var item in state.OpenItems) { yield return (item.Charge.DueOn, state.History.Contract, item.Open); }
        foreach (var next in DueDates.Of(state).Take(1)) { yield return (next.On, state.History.Contract, next.Amount - state.UnappliedCredit); }
    }
}
