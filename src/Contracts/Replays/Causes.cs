using System.Collections.Immutable;

namespace Contracts.Replays;

/// <summary>Contracts that part at the same kind of event in the same figures: most likely one change of the rules.</summary>
/// <param name="First">The first of them, by id.</param>
/// <param name="Count">How many there are.</param>
/// <param name="Contracts">The first few ids.</param>
/// <param name="Ranges">By how much each amount or count parts, least and most.</param>
public sealed record Cause(FirstDifference First, int Count, ImmutableArray<string> Contracts, ImmutableSortedDictionary<string, (long Least, long Most)> Ranges)
{
    /// <summary>The figure to ask about first: the one that others follow from.</summary>
    public string? Leading => CauseGroups.Leading(First);

    /// <summary>Where only words part first: the first contract of them on which amounts part later; null where amounts part at once, or never.</summary>
    public FirstDifference? Amounts { get; init; }
}

/// <summary>Sorts first differences by cause while they come in; memory grows with the causes and not with the contracts.</summary>
public sealed class CauseGroups
{
    private const int Examples = 5;

    /// <summary>What others follow from comes first: a charge before what is paid, what is paid before equity, equity before the price.</summary>
    private static readonly ImmutableArray<string> Order =
    [
        "paid.rent", "paid.plan", "paid.fees", "paid.accessories", "paid.purchase", "paid.tax", "paid.total", "unappliedCredit", "goodwillCredit", "pastDue",
        "equity", "carriedEquity", "merchandiseCredit", "totalCost", "costOfRental", "remainingToOwn", "installments.due", "installments.paid", "installments.total",
        "installments.remaining", "earlyPurchase.price", "earlyPurchase.tax", "earlyPurchase.payoff", "remainingBySchedule", "nextDue.amount",
    ];

    private readonly Dictionary<string, Cause> groups = new(StringComparer.Ordinal);

    /// <summary>How many contracts part.</summary>
    public int Parted { get; private set; }

    /// <summary>The causes, the most frequent first.</summary>
    public IReadOnlyList<Cause> Causes => [.. groups.Values.OrderByDescending(cause => cause.Count).ThenBy(cause => cause.First.Contract, StringComparer.Ordinal)];

    /// <summary>Takes one in.</summary>
    public void Add(FirstDifference difference)
    {
        Parted++;
        var key = $"{difference.Kind} {string.Join(' ', difference.Figures.Select(one => one.Figure).Order(StringComparer.Ordinal))}";
        var ranges = difference.Figures.Where(one => one.By is not null)
            .ToImmutableSortedDictionary(one => one.Figure, one => (one.By!.Value, one.By.Value), StringComparer.Ordinal);
        groups[key] = groups.TryGetValue(key, out var cause)
            ? cause with
            {
                Count = cause.Count + 1,
                Amounts = cause.Amounts ?? difference.Amounts,
                Contracts = cause.Contracts.Length < Examples ? cause.Contracts.Add(difference.Contract) : cause.Contracts,
                Ranges = cause.Ranges.ToImmutableSortedDictionary(
                    one => one.Key, one => (Math.Min(one.Value.Least, ranges[one.Key].Item1), Math.Max(one.Value.Most, ranges[one.Key].Item2)), StringComparer.Ordinal),
            }
            : new Cause(difference, 1, [difference.Contract], ranges) { Amounts = difference.Amounts };
    }

    internal static string? Leading(FirstDifference difference)
    {
        foreach (var figure in Order)
        {
            foreach (var one in difference.Figures)
            {
                if (one.Figure == figure) { return figure; }
            }
        }

        return null;
    }
}
