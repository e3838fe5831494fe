using System.Collections.Immutable;
using Contracts.Disclosures;
using Contracts.History;
using NodaTime.Text;

namespace Contracts.Explain;

/// <summary>What one contract adds to a figure of a report.</summary>
/// <param name="Contract">The contract, or a stream of the books themselves.</param>
/// <param name="Amount">How much.</param>
public sealed record ReportShare(string Contract, Money Amount);

/// <summary>What an event moved in an account of the books.</summary>
/// <param name="Says">The reasons of its lines.</param>
/// <param name="Sequence">The event's place in the order of recording.</param>
/// <param name="Amount">How much; debits positive.</param>
public sealed record PostedShare(string Says, long Sequence, Money Amount);

/// <summary>
/// The tree of a figure that sums over contracts: those that add most to it with their own trees, and what all the others add in one
/// number that says how many they are. So the tree adds up to the cent and stays readable however many contracts there are.
/// </summary>
public static class ReportTrees
{
    /// <summary>How many contracts are taken apart where nobody says.</summary>
    public const int Most = 20;

    /// <summary>Whether the totals over all accounts have a figure of that name.</summary>
    public static bool Has(string figure) => Portfolio.Figures.Any(one => one.Path == figure);

    /// <summary>The names of the totals over all accounts.</summary>
    public static ImmutableArray<string> Figures => [.. Portfolio.Figures.Select(one => one.Path)];

    /// <summary>What an account adds to a total.</summary>
    public static Money Of(Account account, string figure) => Portfolio.Figures.First(one => one.Path == figure).Of(account);

    /// <summary>Those that are taken apart: the largest by their amount, debit or credit; of the same amount the first by id.</summary>
    public static ImmutableArray<ReportShare> Largest(IEnumerable<ReportShare> shares, int most) =>
    [
        .. shares.Where(share => share.Amount != Money.Zero)
            .OrderByDescending(share => Math.Abs(share.Amount.Cents)).ThenBy(share => share.Contract, StringComparer.Ordinal).Take(most),
    ];

    /// <summary>The tree of a total over all accounts.</summary>
    /// <param name="figure">A name of <see cref="Figures"/>.</param>
    /// <param name="shares">What each account adds, those with nothing left out or not.</param>
    /// <param name="trees">The accounts' own trees of the figure, of those that are taken apart.</param>
    public static ExplainNode Accounts(string figure, IReadOnlyCollection<ReportShare> shares, IReadOnlyList<(ReportShare Share, ExplainNode Tree)> trees) => Whole(
        figure, "the figure of every account of the view", MoneyRules.Portfolio, shares,
        [.. trees.Select(one => (one.Share, one.Tree with { Figure = $"{one.Share.Contract} {figure}" }))]);

    /// <summary>The tree of an account of the books.</summary>
    /// <param name="figure">The account as the trial balance names it.</param>
    /// <param name="shares">What each contract posted to it.</param>
    /// <param name="posted">What its events posted, of those that are taken apart, with their histories; null for what is no contract's.</param>
    public static ExplainNode Books(
        string figure, IReadOnlyCollection<ReportShare> shares, IReadOnlyList<(ReportShare Share, ContractHistory? History, IReadOnlyList<PostedShare> Posted)> posted) => Whole(
        figure, "every posting to it; debits positive, credits negative", Postings, shares,
        [.. posted.Select(one => (one.Share, Nodes.Of(
            Combination.Sum, one.Share.Contract, one.Share.Amount, "what its events posted", Postings, one.Posted.Select(line => Leaf(one.History, line)))))]);

    private const string Postings = "accounting.md, Postings, event by event";

    private static ExplainNode Leaf(ContractHistory? history, PostedShare line)
    {
        var fact = history?.Entries.FirstOrDefault(entry => entry.Sequence == line.Sequence);
        // What fell due is posted by the fact or the billing run that came next; a run's note has no words of its own.
        var of = fact is null ? string.Create(System.Globalization.CultureInfo.InvariantCulture, $"event {line.Sequence}")
            : fact.Event.IsNote ? $"noted by a billing run, {LocalDatePattern.Iso.Format(fact.Event.On)}"
            : $"{FactWords.Of(fact.Event)} on {LocalDatePattern.Iso.Format(fact.Event.On)}";
        return Nodes.Leaf(of, line.Amount, line.Says, Postings, fact);
    }

    private static ExplainNode Whole(
        string figure, string says, string citation, IReadOnlyCollection<ReportShare> shares, IReadOnlyList<(ReportShare Share, ExplainNode Tree)> apart)
    {
        var total = Total(shares);
        var (others, rest) = (shares.Count(share => share.Amount != Money.Zero) - apart.Count, total - Total(apart.Select(one => one.Share)));
        var parts = apart.Select(one => one.Tree).ToList();
        if (others > 0) { parts.Add(Nodes.Leaf($"{Nodes.Text(others)} others", rest, "added up and not taken apart here; ask for more of them to see each", citation, null)); }
        return Nodes.Of(Combination.Sum, figure, total, says, citation, parts);
    }

    private static Money Total(IEnumerable<ReportShare> shares) => shares.Aggregate(Money.Zero, (sum, share) => sum + share.Amount);
}
