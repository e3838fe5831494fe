using Contracts.History;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>One contract as a command meets it: what is known, and the account on the command's day.</summary>
internal sealed class Situation(ContractHistory history, DecisionContext context, CommandOrigin origin, LocalDate on)
{
    private AccountState? account;

    public ContractHistory History { get; } = history;

    public DecisionContext Context { get; } = context;

    public CommandOrigin Origin { get; } = origin;

    public LocalDate On { get; } = on;

    /// <summary>The account at the end of the command's day; folded only when a rule asks for it.</summary>
    public AccountState Account => account ??= At(On);

    public AccountState At(LocalDate day) =>
        AccountFold.At(History, Context.Rates, day)
        ?? throw new ImpossibleHistoryException(History.Contract, "has no account after its signing");
}
