using Contracts.Agreements;
using Contracts.History;
using NodaTime;

namespace Contracts.Store;

/// <summary>The rules the pipeline asks. The store has one set; tests of the machinery bring their own.</summary>
public sealed record Decider(
    Func<ContractHistory, DecisionContext, Command.OnContract, Decision> Decide,
    Func<ContractHistory, DecisionContext, LocalDate, IReadOnlyList<Outcome>> Bill)
{
    public static Decider Rules { get; } = new(
        static (history, context, command) =>
            ContractDecider.Decide(history, context, command.Origin, command.On, command.Body),
        ContractDecider.Bill);
}
