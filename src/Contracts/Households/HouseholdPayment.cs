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
    /// <param name="command">The payment.</param>
    /// <param name="contracts">The family's contracts at the end of the payment's day, in any order.</param>
    public static (ImmutableArray<EntryShare> Shares, Refusal? Refusal) Split(Command.PayHousehold command, IReadOnlyList<AccountState> contracts)
    {
        if (contracts.Count == 0)
        {
            return ([], new Refusal(RefusalCode.HouseholdWithoutContract, $"{command.Household} has signed no contract by that day.", "household"));
        }

        if (!command.Shares.IsEmpty) { return Said(command, contracts); }
        var (shares, left) = (new SortedDictionary<string, Money>(StringComparer.Ordinal), command.Amount);
        foreach (var (_, contract, amount) in contracts.SelectMany(Asked).OrderBy(one => one.DueOn).ThenBy(one => one.Contract, StringComparer.Ordinal))
        {
            var part = left < amount ? left : amount;
            if (!part.IsPositive) { continue; }
            shares[contract] = shares.GetValueOrDefault(contract) + part;
            left -= part;
        }

        return left.IsPositive
            ? ([], new Refusal(
                RefusalCode.HouseholdPaymentUnclear, $"{command.Amount - left} is past due or falls due next; say by shares what the rest is for.", "amount",
                (command.Amount - left).ToString()))
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

    private static (ImmutableArray<EntryShare> Shares, Refusal? Refusal) Said(Command.PayHousehold command, IReadOnlyList<AccountState> contracts)
    {
        var sum = command.Shares.Aggregate(Money.Zero, (total, share) => total + share.Amount);
        if (sum != command.Amount)
        {
            return ([], new Refusal(
                RefusalCode.HouseholdSharesDiffer, $"The shares add up to {sum}; the payment is {command.Amount}.", "shares", command.Amount.ToString()));
        }

        if (command.Shares.DistinctBy(share => share.Contract).Count() < command.Shares.Length || command.Shares.Any(share => !share.Amount.IsPositive))
        {
            return ([], new Refusal(RefusalCode.HouseholdSharesDiffer, "Each contract has one share, above zero.", "shares"));
        }

        var other = command.Shares.FirstOrDefault(share => contracts.All(one => one.History.Contract != share.Contract));
        return other is null
            ? (command.Shares, null)
            : ([], new Refusal(RefusalCode.HouseholdContractOther, $"{other.Contract} is no contract of {command.Household} on that day.", "shares"));
    }

    /// <summary>What is past due, charge by charge, and the next installment, less money that waits for it.</summary>
    private static IEnumerable<(LocalDate DueOn, string Contract, Money Amount)> Asked(AccountState state)
    {
        foreach (var item in state.OpenItems) { yield return (item.Charge.DueOn, state.History.Contract, item.Open); }
        foreach (var next in DueDates.Of(state).Take(1)) { yield return (next.On, state.History.Contract, next.Amount - state.UnappliedCredit); }
    }
}
