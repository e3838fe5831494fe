using System.Collections.Immutable;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.WhatIf;

/// <summary>The first day at whose end the account as it is and the account as it would be part.</summary>
/// <param name="On">The day.</param>
/// <param name="Says">What parts them, in trade words.</param>
/// <param name="Event">The fact that does, as it is recorded; null for one that is supposed, or for what the day brings by itself.</param>
/// <param name="Figures">The figures that part.</param>
/// <param name="Words">The words and days that part.</param>
public sealed record Departure(
    LocalDate On, string Says, Recorded? Event, ImmutableArray<SupposedFigure> Figures, ImmutableArray<WordDifference> Words)
{
    private const int MostDays = 4_000;

    /// <summary>Walks both histories through the days on which a figure may move; null where no figure parts through the last day.</summary>
    internal static Departure? Find(ContractHistory real, SupposedHistory supposed, ReferenceData rates, LocalDate last)
    {
        var (one, other) = (new Walk(real, rates), new Walk(supposed.History, rates));
        for (var looked = 0; Earlier(one.Next, other.Next) is { } next && next <= last; looked++)
        {
            var day = looked < MostDays ? next : Halved(real, supposed, rates, next, last);
            var (before, after) = (one.To(day), other.To(day));
            var figures = SupposedFigure.Between(before, after);
            var words = SupposedFigure.Words(before, after);
            if (figures.IsEmpty && words.IsEmpty) { continue; }
            var (says, fact) = Because(day, supposed, one.Charges, other.Charges);
            return new Departure(day, says, fact, figures, words);
        }

        return null;
    }

    /// <summary>
    /// A hold without an end moves figures from day to day for as long as somebody asks. After eleven years of days, the day of parting
    /// is looked for by halving what is left: it is one on which they part and on the day before they do not.
    /// </summary>
    private static LocalDate Halved(ContractHistory real, SupposedHistory supposed, ReferenceData rates, LocalDate from, LocalDate last)
    {
        var (same, part) = (from.PlusDays(-1), last);
        while (Period.DaysBetween(same, part) > 1)
        {
            var middle = same.PlusDays(Period.DaysBetween(same, part) / 2);
            var (before, after) = (At(real, rates, middle), At(supposed.History, rates, middle));
            if (SupposedFigure.Between(before, after).IsEmpty && SupposedFigure.Words(before, after).IsEmpty) { same = middle; }
            else { part = middle; }
        }

        return part;
    }

    private static Account? At(ContractHistory history, ReferenceData rates, LocalDate day) =>
        AccountFold.At(history, rates, day) is { } state ? Account.Of(state, default) : null;

    private static (string Says, Recorded? Event) Because(LocalDate day, SupposedHistory supposed, IReadOnlyList<Charge> real, IReadOnlyList<Charge> other)
    {
        if (supposed.Original is { } was && was.Event.On == day) { return (FactWords.Of(was.Event), was); }
        if (supposed.Supposed is { } fact && fact.Event.On == day) { return ($"{FactWords.Of(fact.Event)} (supposed)", null); }
        var (here, there) = (Ids(real, day), Ids(other, day));
        var arose = there.Except(here, StringComparer.Ordinal).Select(id => $"{id} would fall due")
            .Concat(here.Except(there, StringComparer.Ordinal).Select(id => $"{id} would not fall due")).ToList();
        return (arose.Count > 0 ? string.Join(", ", arose) : "the day alone: an installment, a discount, a tax rate, a limit or the start", null);
    }

    private static List<string> Ids(IReadOnlyList<Charge> charges, LocalDate day) => [.. charges.Where(charge => charge.DueOn == day).Select(charge => charge.Id)];

    private static LocalDate? Earlier(LocalDate? left, LocalDate? right) =>
        left is null ? right : right is null ? left : LocalDate.Min(left.Value, right.Value);

    /// <summary>One history lived forward, from day to day on which a figure may move.</summary>
    private sealed class Walk(ContractHistory history, ReferenceData rates)
    {
        private AccountFold? fold;
        private LocalDate through = history.Facts[0].Event.On.PlusDays(-1);

        public LocalDate? Next => fold is null ? history.Facts[0].Event.On is var signed && signed > through ? signed : null : DayAhead.Of(fold, rates);

        public IReadOnlyList<Charge> Charges => fold?.Allocation.Charges ?? [];

        public Account? To(LocalDate day)
        {
            through = day;
            if (fold is null || !fold.GoOn(history, day)) { fold = AccountFold.Lived(history, rates, day, null); }
            return fold is null ? null : Account.Of(new AccountState(fold), default);
        }
    }
}
