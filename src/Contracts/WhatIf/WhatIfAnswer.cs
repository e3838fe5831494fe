using System.Collections.Immutable;
using System.Diagnostics;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.WhatIf;

/// <summary>What is asked about a contract: what is known of it, and the day of the figures.</summary>
/// <param name="History">What is known of the contract; it is never changed.</param>
/// <param name="Rates">Tax rates and law as known.</param>
/// <param name="On">The day; figures are those of its end.</param>
/// <param name="Known">The moment of knowledge, which is also that of a decision made now.</param>
/// <param name="Zone">The shop's zone, which says on which day something was recorded.</param>
public sealed record WhatIfQuestion(ContractHistory History, ReferenceData Rates, LocalDate On, Instant Known, DateTimeZone Zone);

/// <summary>
/// The account as it is beside the account as it would be, had one thing of its history been otherwise. Nothing is recorded by it.
/// Charges and fees that terms and dates imply are found again, never kept.
/// </summary>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
/// <param name="Question">What was asked.</param>
/// <param name="Says">The change in trade words.</param>
/// <param name="Before">The account as it is; null where it is not signed by that day.</param>
/// <param name="After">The account as it would be; null where it would not be signed by that day.</param>
/// <param name="Figures">The figures that differ on the day.</param>
/// <param name="Words">The words and days that differ.</param>
/// <param name="Departure">Where the two part first; null where they do not by that day.</param>
/// <param name="Charges">Charges that come, go or change.</param>
/// <param name="Facts">Recorded facts that stand otherwise.</param>
public sealed record WhatIfAnswer(
    WhatIfQuestion Question, string Says, Account? Before, Account? After, ImmutableArray<SupposedFigure> Figures, ImmutableArray<WordDifference> Words,
    Departure? Departure, ImmutableArray<SupposedCharge> Charges, ImmutableArray<QuestionedFact> Facts)
{
    /// <summary>The history as it would be, for whoever looks for what brings the real account there.</summary>
    internal SupposedHistory Supposed { get; private init; } = null!;

    /// <summary>Supposes a change; exactly one of the answers is given. The refusal is the one that the change itself would have met.</summary>
    public static (WhatIfAnswer? Answer, Refusal? Refusal) Of(WhatIfQuestion question, WhatIfChange change)
    {
        var (history, rates, on) = (question.History, question.Rates, question.On);
        if (!history.IsSigned) { return (null, new Refusal(RefusalCode.ContractUnknown, $"No contract {history.Contract} was signed.", "contract")); }
        var (supposed, refusal) = new Supposing(history, rates, question.Known, question.Zone).With(change);
        if (supposed is null) { return (null, refusal); }
        var (was, then) = (AccountFold.At(history, rates, on), AccountFold.At(supposed.History, rates, on));
        var (before, after) = (Figured(was, question.Known), Figured(then, question.Known));
        return (new WhatIfAnswer(
            question, SaysOf(change, supposed), before, after, SupposedFigure.Between(before, after), SupposedFigure.Words(before, after),
            Departure.Find(history, supposed, rates, on), SupposedCharge.Between(was, then), [.. supposed.Questioned, .. Turned(was, then)])
        {
            Supposed = supposed,
        }, null);
    }

    private static Account? Figured(AccountState? state, Instant known) => state is null ? null : Account.Of(state, known);

    /// <summary>Facts of both histories that have an effect in one and none in the other.</summary>
    private static IEnumerable<QuestionedFact> Turned(AccountState? was, AccountState? then)
    {
        if (was is null || then is null) { yield break; }
        var before = was.History.Facts.Where(fact => fact.Event.On <= was.On).ToDictionary(fact => fact.Key, StringComparer.Ordinal);
        foreach (var fact in then.History.Facts.Where(fact => fact.Event.On <= then.On))
        {
            if (!before.TryGetValue(fact.Key, out var recorded)) { continue; }
            var (idle, idles) = (was.IsOvertaken(recorded.Sequence), then.IsOvertaken(fact.Sequence));
            if (idle != idles) { yield return new QuestionedFact(recorded, idles ? FactStanding.Overtaken : FactStanding.TakesEffect, null); }
        }
    }

    private static string SaysOf(WhatIfChange change, SupposedHistory supposed) => change switch
    {
        WhatIfChange.Added => $"added: {Dated(supposed.Supposed!)}",
        WhatIfChange.Removed => $"removed: {Dated(supposed.Original!)}",
        // Terms and references have no words of their own: the fields say what is otherwise.
        WhatIfChange.Changed changed when Dated(supposed.Original!) == Dated(supposed.Supposed!) => $"changed: {Dated(supposed.Original!)}, with {changed.With}",
        WhatIfChange.Changed => $"changed: {Dated(supposed.Original!)}, to {Dated(supposed.Supposed!)}",
        WhatIfChange.UnderLaw law => $"signed under the law pack {law.Pack}",
        _ => throw new UnreachableException($"No words for {change.GetType().Name}."),
    };

    private static string Dated(Recorded fact) => $"{FactWords.Of(fact.Event)} on {NodaTime.Text.LocalDatePattern.Iso.Format(fact.Event.On)}";
}
