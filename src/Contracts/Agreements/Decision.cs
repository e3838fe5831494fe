using System.Collections.Immutable;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>
/// What a decision may know besides the contract's own history: the rates known now and the recording date,
/// which is the day of the recording moment in the shop's zone, the shops that have a calendar, with the month in
/// which the books of each begin, and the quotes given, those at least that the command names.
/// </summary>
public sealed record DecisionContext(
    TaxRates Rates, LocalDate RecordingDate, ImmutableDictionary<string, YearMonth>? Shops = null, IReadOnlyDictionary<string, GivenQuote>? Quotes = null);

/// <summary>An event to be recorded, and the key of the fact that caused it when the command itself did not.</summary>
public sealed record Outcome(ContractEvent Event, string? Cause = null);

/// <summary>Accepted with events in the order in which they are to be recorded, or refused.</summary>
public abstract record Decision
{
    private Decision() { }

    public sealed record Accepted(ImmutableArray<Outcome> Outcomes) : Decision;

    public sealed record Refused(Refusal Refusal) : Decision;
}
