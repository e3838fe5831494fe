using System.Collections.Immutable;
using Contracts.History;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>What a command would do, with nothing recorded: the account before and after it, and the events.</summary>
/// <param name="Before">The account on the day looked at, without the command.</param>
/// <param name="After">The same with it.</param>
/// <param name="Outcomes">The events it would record, in their order.</param>
public sealed record Preview(AccountState Before, AccountState After, ImmutableArray<Outcome> Outcomes)
{
    /// <summary>
    /// Decides a command on a signed contract as the engine would, and folds its events in; or says why it would be refused. Whether
    /// an instrument is free is for the store to say: it knows the other contracts.
    /// </summary>
    /// <param name="history">What is known.</param>
    /// <param name="context">The day of the decision, rates and law.</param>
    /// <param name="command">The command.</param>
    /// <param name="at">The moment it would be recorded at.</param>
    public static (Preview? Preview, Refusal? Refusal) Of(ContractHistory history, DecisionContext context, Command.OnContract command, Instant at)
    {
        var decision = ContractDecider.Decide(history, context, command.Origin, command.On, command.Body);
        if (decision is not Decision.Accepted accepted) { return (null, ((Decision.Refused)decision).Refusal); }
        var sequence = history.Entries[^1].Sequence;
        var moment = Instant.Max(at, history.Entries[^1].At);
        var after = accepted.Outcomes.Aggregate(history, (lived, outcome) => lived.Evolve(new Recorded(
            outcome.Event, ++sequence, moment, command.Origin.Key, command.Origin.By, command.Origin.Reason, outcome.Cause, command.Origin.Approved)));
        var day = LocalDate.Max(command.On, context.RecordingDate);
        return AccountFold.At(history, context.Rates, day) is { } before && AccountFold.At(after, context.Rates, day) is { } then
            ? (new Preview(before, then, accepted.Outcomes), null)
            : throw new ImpossibleHistoryException(history.Contract, "has no account after its signing");
    }
}
