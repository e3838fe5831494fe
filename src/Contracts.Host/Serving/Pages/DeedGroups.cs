using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;

namespace Contracts.Host.Serving.Pages;

/// <summary>The deeds of a page by what they are about.</summary>
/// <param name="About">Money, instrument, agreement or dispute.</param>
/// <param name="Deeds">Those that can be done on the contract as it stands, in the order in which a counter wants them.</param>
public sealed record DeedGroup(string About, ImmutableArray<Deed> Deeds);

/// <summary>What a counter may do with one contract. What could only be refused is not offered; everything else is, and says why not when it is refused.</summary>
public static class DeedGroups
{
    /// <summary>Which deeds are about what.</summary>
    public static ImmutableArray<(string About, string[] Names)> All { get; } =
    [
        ("Money", ["pay", "reverse-payment", "refund", "waive", "credit", "spend-credit", "write-off"]),
        ("Instrument", ["deliver", "report-damage", "issue-label", "swap", "receive-unit", "exchange", "report-loss"]),
        ("Agreement", ["buy", "return", "elect-plan", "cancel-plan", "hold", "release", "step-up", "reinstate"]),
        ("Dispute", ["open-dispute", "attach-paper", "answer-dispute", "close-dispute"]),
    ];

    /// <summary>The deeds of a role on a contract.</summary>
    /// <param name="role">The role.</param>
    /// <param name="account">The contract as it stands.</param>
    public static ImmutableArray<DeedGroup> For(string role, AccountState account) =>
    [
        .. All.Select(group => new DeedGroup(
                group.About, [.. group.Names.Select(name => Deeds.Find(name)!).Where(deed => deed.Roles.Contains(role) && Fits(deed.Name, account))]))
            .Where(group => !group.Deeds.IsEmpty),
    ];

    private static bool Fits(string name, AccountState account) => name switch
    {
        "deliver" => account.History.Signing.StartsAtDelivery && !account.HasEnded,
        "spend-credit" => account.MerchandiseCredit.IsPositive,
        "release" => account.Status == ContractStatus.OnHold,
        "reinstate" => account.Status == ContractStatus.Returned,
        "report-damage" or "swap" or "buy" or "report-loss" => !account.HasEnded,
        "return" => !account.HasEnded || account.Status == ContractStatus.Lost,
        "step-up" => account.Status is ContractStatus.Active or ContractStatus.OnHold,
        "hold" or "exchange" => account.Status == ContractStatus.Active,
        "elect-plan" => !account.PlanElected && account.Terms.Plan is not null && !account.HasEnded,
        "cancel-plan" => account.PlanElected && !account.HasEnded,
        "attach-paper" or "answer-dispute" or "close-dispute" => account.History.Facts.Any(fact => fact.Event is ContractEvent.DisputeOpened),
        _ => true,
    };
}
