using System.Collections.Immutable;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Explain;

/// <summary>One side of a comparison: a day, and what is known.</summary>
/// <param name="On">The day; figures are those of its end.</param>
/// <param name="Known">The moment of knowledge, as the answer states it.</param>
/// <param name="History">What is known of the contract.</param>
/// <param name="Rates">Tax rates and law known with it.</param>
public sealed record ComparedView(LocalDate On, Instant Known, ContractHistory History, ReferenceData Rates);

/// <summary>What made a difference between two views.</summary>
public enum DifferenceBy
{
    /// <summary>A day came (or, looking back, has not come yet) of which both views know the same.</summary>
    Time,

    /// <summary>Something was learned (or is not known yet) about a day that the first view had reached.</summary>
    Knowledge,

    /// <summary>Something was learned about a day that came as well.</summary>
    Both,
}

/// <summary>A step from one view to the other that moves figures.</summary>
/// <param name="By">What kind of step it is.</param>
/// <param name="On">The day it is about; null for tax rates and law that were learned.</param>
/// <param name="Says">What happened, in trade words.</param>
/// <param name="Event">The event that did it, or null for what a day brings by itself.</param>
/// <param name="Backdated">Whether the event was recorded on a later day than the one it is about.</param>
public sealed record DifferenceCause(DifferenceBy By, LocalDate? On, string Says, Recorded? Event, bool Backdated);

/// <summary>A figure that differs, and the steps that add up to the difference.</summary>
/// <param name="Figure">Its path in the account's JSON.</param>
/// <param name="IsMoney">Dollars in cents, or a count.</param>
/// <param name="From">In the first view.</param>
/// <param name="To">In the second one.</param>
/// <param name="Because">The steps in the order of the path, each with what it moved; they add up to <paramref name="To"/> less <paramref name="From"/>.</param>
public sealed record FigureDifference(string Figure, bool IsMoney, long From, long To, ImmutableArray<(DifferenceCause Cause, long Amount)> Because);

/// <summary>A word or a day that differs: no steps, for words do not add up.</summary>
public sealed record WordDifference(string Figure, string? From, string? To);

/// <summary>
/// What differs between two views of one account, and what made it differ. The way taken is always the same: first what is known changes
/// on the first day, fact by fact in the order of recording; then the days go by under what the second view knows. Each step's effect is
/// what the figures move by, so that they add up exactly; another way would divide the same sum otherwise.
/// </summary>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
public sealed record Comparison(
    string Contract, ComparedView From, ComparedView To, ImmutableArray<FigureDifference> Figures, ImmutableArray<WordDifference> Words)
{
    /// <summary>Compares; null where the contract was signed in neither view. In a view before the signing every figure is nothing.</summary>
    /// <param name="from">The first view.</param>
    /// <param name="to">The second one, of the same contract; earlier days and less knowledge are allowed.</param>
    /// <param name="zone">The shop's zone, which says on which day something was recorded.</param>
    public static Comparison? Of(ComparedView from, ComparedView to, DateTimeZone zone)
    {
        var (first, last) = (Figured(from.History, from.Rates, from.On), Figured(to.History, to.Rates, to.On));
        if (first is null && last is null) { return null; }
        var steps = new ComparisonPath(from, to, zone).Steps();
        var figures = new List<FigureDifference>();
        for (var index = 0; index < ComparedFigures.Numbers.Length; index++)
        {
            var (path, isMoney, of) = ComparedFigures.Numbers[index];
            var (a, b) = (first is null ? 0 : of(first), last is null ? 0 : of(last));
            if (a == b) { continue; }
            var because = steps.Select(step => (step.Cause, Amount: Number(step.After, of) - Number(step.Before, of))).Where(one => one.Amount != 0);
            figures.Add(new FigureDifference(path, isMoney, a, b, [.. because]));
        }

        return new Comparison(
            from.History.Contract, from, to, [.. figures],
            [.. ComparedFigures.Texts.Select(text => new WordDifference(text.Path, first is null ? null : text.Of(first), last is null ? null : text.Of(last)))
                .Where(word => word.From != word.To)]);
    }

    private static long Number(Account? account, Func<Account, long> of) => account is null ? 0 : of(account);

    private static Account? Figured(ContractHistory history, ReferenceData rates, LocalDate on) =>
        AccountFold.At(history, rates, on) is { } state ? Account.Of(state, default) : null;
}
