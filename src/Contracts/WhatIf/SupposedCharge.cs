using System.Collections.Immutable;
using Contracts.History;
using Contracts.Payments;
using NodaTime;

namespace Contracts.WhatIf;

/// <summary>A charge that would come, go or be another one: what terms, dates and facts make fall due, found again.</summary>
/// <param name="Id">Its id, such as <c>late:2026-11-05</c>.</param>
/// <param name="On">The day it is owed from.</param>
/// <param name="Before">What it comes to with its tax, as it is; null where it does not stand.</param>
/// <param name="After">What it would come to; null where it would not stand.</param>
public sealed record SupposedCharge(string Id, LocalDate On, Money? Before, Money? After)
{
    /// <summary>Whether it comes, goes or changes, as a word.</summary>
    public string How => Before is null ? "comes" : After is null ? "goes" : "changes";

    /// <summary>The charges that differ between two accounts of one day, by day and id; one that was taken back does not stand.</summary>
    internal static ImmutableArray<SupposedCharge> Between(AccountState? before, AccountState? after)
    {
        var (was, then) = (Standing(before), Standing(after));
        return
        [
            .. was.Keys.Union(then.Keys, StringComparer.Ordinal)
                .Select(id => (Id: id, Before: Find(was, id), After: Find(then, id)))
                .Where(one => one.Before != one.After)
                .Select(one => new SupposedCharge(one.Id, (one.After ?? one.Before)!.Value.On, one.Before?.Amount, one.After?.Amount))
                .OrderBy(one => one.On).ThenBy(one => one.Id, StringComparer.Ordinal),
        ];
    }

    private static (LocalDate On, Money Amount)? Find(Dictionary<string, (LocalDate, Money)> charges, string id) => charges.TryGetValue(id, out var found) ? found : null;

    private static Dictionary<string, (LocalDate On, Money Amount)> Standing(AccountState? state)
    {
        var standing = new Dictionary<string, (LocalDate On, Money Amount)>(StringComparer.Ordinal);
        foreach (var charge in state?.Charges ?? [])
        {
            if (charge.ReversedOn is not null) { continue; }
            var amount = charge.Items.Aggregate(Money.Zero, (sum, item) => sum + item.Charged);
            // Two delivery taxes of one day share an id: together they are what is owed under it.
            standing[charge.Id] = (charge.DueOn, standing.TryGetValue(charge.Id, out var same) ? same.Amount + amount : amount);
        }

        return standing;
    }
}
