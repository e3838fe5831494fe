using Contracts.History;
using NodaTime;

namespace Contracts.Agreements;

public static partial class ContractDecider
{
    public static Decision Decide(
        ContractHistory history, DecisionContext context, CommandOrigin origin, LocalDate on, ContractCommand command) =>
        throw new NotImplementedException();

    /// <summary>What the billing run records of one contract through a day; empty when nothing is new.</summary>
    public static IReadOnlyList<Outcome> Bill(ContractHistory history, DecisionContext context, LocalDate through) =>
        throw new NotImplementedException();
}
