using Contracts.Disclosures;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Explain;

/// <summary>A step of the path, with the account before and after it; null while it is not signed.</summary>
internal sealed record ComparisonStep(DifferenceCause Cause, Account? Before, Account? After);

/// <summary>
/// The fixed path from one view to another. Knowledge first, on the first day: what the second view does not know is forgotten, the last
/// recorded first; then tax rates and law change; then what is new is learned in the order of recording. Then time, under the second
/// view's knowledge, from the earlier day to the later one and, where the second view looks back, with the signs turned.
/// </summary>
internal sealed class ComparisonPath(ComparedView from, ComparedView to, DateTimeZone zone)
{
    private readonly string contract = from.History.Contract;
    private readonly List<ComparisonStep> steps = [];
    private readonly HashSet<long> knownBefore = [.. from.History.Entries.Select(entry => entry.Sequence)];
    private readonly HashSet<long> knownAfter = [.. to.History.Entries.Select(entry => entry.Sequence)];

    /// <summary>All steps that may move a figure, in order; each begins where the one before it ended.</summary>
    public IReadOnlyList<ComparisonStep> Steps()
    {
        Learn();
        if (to.On >= from.On)
        {
            Live(from.On, to.On);
            return steps;
        }

        var learned = steps.Count;
        Live(to.On, from.On);
        for (var index = learned; index < steps.Count; index++) { steps[index] = steps[index] with { Before = steps[index].After, After = steps[index].Before }; }
        steps.Reverse(learned, steps.Count - learned);
        return steps;
    }

    private void Learn()
    {
        var known = from.History.Entries.Where(entry => !entry.Event.IsNote).ToList();
        var account = At(known, from.Rates, from.On);
        foreach (var fact in known.Where(fact => !knownAfter.Contains(fact.Sequence)).Reverse().ToList())
        {
            known.Remove(fact);
            Step(fact, from.Rates);
        }

        if (!ReferenceEquals(from.Rates, to.Rates))
        {
            var after = At(known, to.Rates, from.On);
            steps.Add(new ComparisonStep(new DifferenceCause(DifferenceBy.Knowledge, null, "tax rates and law as known in the second view", null, false), account, after));
            account = after;
        }

        foreach (var fact in to.History.Entries.Where(fact => !fact.Event.IsNote && !knownBefore.Contains(fact.Sequence)))
        {
            known.Insert(known.FindLastIndex(one => one.Sequence < fact.Sequence) + 1, fact);
            Step(fact, to.Rates);
        }

        void Step(Recorded fact, ReferenceData rates)
        {
            // A fact of a later day than the one looked at has no effect on it yet.
            if (fact.Event.On > from.On) { return; }
            var after = At(known, rates, from.On);
            steps.Add(new ComparisonStep(Cause(fact, DifferenceBy.Knowledge), account, after));
            account = after;
        }
    }

    /// <summary>Goes from the end of one day to the end of a later one, and stops on every day that may move a figure.</summary>
    private void Live(LocalDate first, LocalDate last)
    {
        var facts = to.History.Entries.Where(entry => !entry.Event.IsNote).ToList();
        var days = facts.Select(fact => fact.Event.On).Where(day => day > first && day <= last).ToHashSet();
        var fold = AccountFold.Lived(to.History, to.Rates, first, null);
        var account = Figures(fold);
        while (true)
        {
            var next = fold is null ? SignedOn(first) : DayAhead.Of(fold, to.Rates);
            if (next is not { } at || at > last) { break; }
            var charges = fold?.Allocation.Charges.Count ?? 0;
            var before = account;
            if (days.Contains(at)) { account = FactByFact(facts, at, account); }
            if (fold is null || !fold.GoOn(to.History, at)) { fold = AccountFold.Lived(to.History, to.Rates, at, null); }
            var after = Figures(fold);
            // What a day of facts moves has been told fact by fact; the day by itself is the first of those steps.
            if (!days.Contains(at)) { steps.Add(new ComparisonStep(Day(at, before, fold!, charges), before, after)); }
            account = after;
        }
    }

    /// <summary>A day on which something was recorded: first what it brings by itself, then its facts in the order of recording.</summary>
    private Account? FactByFact(List<Recorded> facts, LocalDate day, Account? account)
    {
        var known = facts.Where(fact => fact.Event.On < day).ToList();
        if (known.Count > 0)
        {
            var charges = AccountFold.Lived(Of(known), to.Rates, day.PlusDays(-1), null)!.Allocation.Charges.Count;
            var alone = AccountFold.Lived(Of(known), to.Rates, day, null)!;
            var after = Figures(alone);
            steps.Add(new ComparisonStep(Day(day, account, alone, charges), account, after));
            account = after;
        }

        foreach (var fact in facts.Where(fact => fact.Event.On == day))
        {
            known.Add(fact);
            var after = At(known, to.Rates, day);
            steps.Add(new ComparisonStep(Cause(fact, IsNew(fact) ? DifferenceBy.Both : DifferenceBy.Time), account, after));
            account = after;
        }

        return account;
    }

    /// <summary>Learned since and of a day that came since; looking back, it has been learned on the first day already.</summary>
    private bool IsNew(Recorded fact) => to.On > from.On && !knownBefore.Contains(fact.Sequence);

    private LocalDate? SignedOn(LocalDate after) => to.History.IsSigned && to.History.Facts[0].Event.On is var day && day > after ? day : null;

    private static DifferenceCause Day(LocalDate day, Account? before, AccountFold fold, int charges)
    {
        var arose = fold.Allocation.Charges.Skip(charges).Select(charge => charge.Id).ToList();
        var says = arose.Count > 0 ? $"falls due: {string.Join(", ", arose)}"
            : before?.Status == "on-hold" ? "a day on hold"
            : "the day alone: a discount, a tax rate, a limit or the start";
        return new DifferenceCause(DifferenceBy.Time, day, says, null, false);
    }

    private DifferenceCause Cause(Recorded fact, DifferenceBy by) =>
        new(by, fact.Event.On, FactWords.Of(fact.Event), fact, fact.At.InZone(zone).Date > fact.Event.On);

    private Account? At(List<Recorded> known, ReferenceData rates, LocalDate on) => Figures(AccountFold.Lived(Of(known), rates, on, null));

    private ContractHistory Of(List<Recorded> known) => ContractHistory.Of(contract, known);

    private static Account? Figures(AccountFold? fold) => fold is null ? null : Account.Of(new AccountState(fold), default);
}
