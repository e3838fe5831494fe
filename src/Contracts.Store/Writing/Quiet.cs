using Contracts.Agreements;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>
/// That a billing run has nothing to note for a history through a day, under rates. The second run that finds nothing looks a month ahead, so that those
/// of the days between need not fold the history again; a single run looks at nothing twice.
/// </summary>
/// <param name="Rates">The rates; others ask anew.</param>
/// <param name="Through">The last day for which it is known.</param>
internal sealed record Quiet(ReferenceData Rates, LocalDate Through)
{
    private const int Ahead = 31;

    /// <summary>What is due through a day and not noted, by what is known already or by folding.</summary>
    /// <param name="known">The contract.</param>
    /// <param name="decider">The rules.</param>
    /// <param name="context">The rates and the day of recording.</param>
    /// <param name="through">The day.</param>
    public static IReadOnlyList<Outcome> Bill(Known known, Decider decider, DecisionContext context, LocalDate through)
    {
        var before = known.Quiet is { } quiet && ReferenceEquals(quiet.Rates, context.Rates) ? quiet : null;
        if (before is not null && through <= before.Through) { return []; }
        var found = decider.Bill(known.History, context, through);
        if (found.Count > 0) { return found; }
        var last = before is null ? through : LookAhead(known, decider, context, through);
        known.Quiet = new Quiet(context.Rates, last);
        return found;
    }

    /// <summary>The last day before the first on which anything falls due. A fact dated ahead could undo what falls due before it: then nothing is foretold.</summary>
    private static LocalDate LookAhead(Known known, Decider decider, DecisionContext context, LocalDate through)
    {
        var facts = known.History.Facts;
        if (facts.Length > 0 && facts[^1].Event.On > through) { return through; }
        var ahead = decider.Bill(known.History, context, through.PlusDays(Ahead));
        return ahead.Count == 0 ? through.PlusDays(Ahead) : ahead.Min(outcome => outcome.Event.On).PlusDays(-1);
    }
}
