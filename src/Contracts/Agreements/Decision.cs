using System.Collections.Immutable;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>
/// What a decision may know besides the contract's own history: the rates known now and the recording date,
/// which is the day of the recording moment in the shop's zone, the shops that have a calendar, with the month in
/// which the books of each begin, and the quotes given, those at least that the command names.
/// </summary>
public sealed record DecisionContext(
    ReferenceData Rates, LocalDate RecordingDate, ImmutableDictionary<string, YearMonth>? Shops = null, IReadOnlyDictionary<string, GivenQuote>? Quotes = null,
    IssuePaper? Issue = null);

/// <summary>
/// Makes a paper and says what is to be recorded of it, or why it cannot be given out; exactly one of the two. The same
/// question always gets the same answer.
/// </summary>
public delegate (ContractEvent.DocumentIssued? Issued, Refusal? Refusal) IssuePaper(
    ContractHistory history, LocalDate on, ContractCommand.Issue asked);

/// <summary>An event to be recorded, and the key of the fact that caused it when the command itself did not.</summary>
public sealed record Outcome(ContractEvent Event, string? Cause = null);

/// <summary>Accepted with events in the order in which they are to be recorded, or refused.</summary>
public abstract record Decision
{
    private Decision() { }

    public sealed record Accepted(ImmutableArray<Outcome> Outcomes) : Decision;

    public sealed record Refused(Refusal Refusal) : Decision;
}
