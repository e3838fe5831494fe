using System.Collections.Immutable;
using Contracts.Instruments;
using NodaTime;

namespace Contracts.Fleet;

/// <summary>How well the units of a kind were used in a span of days.</summary>
/// <param name="Kind">The trade's name.</param>
/// <param name="Units">Units that the shop had on any day of the span.</param>
/// <param name="Acquired">Those of them that it keeps as units; of the others no day before their first contract is known.</param>
/// <param name="DaysOwned">Days on which the shop had them, added up.</param>
/// <param name="DaysPlaced">Days on which a contract had them.</param>
public sealed record KindUse(string Kind, int Units, int Acquired, long DaysOwned, long DaysPlaced)
{
    /// <summary>Days placed of days owned in hundredths of a percent, rounded half up; nothing where no day was owned.</summary>
    public long Utilisation => DaysOwned == 0 ? 0 : ((DaysPlaced * 20_000) + DaysOwned) / (2 * DaysOwned);
}

/// <summary>How many units of a kind went out and came back in a month: the season as it was.</summary>
public sealed record KindMonth(YearMonth Month, string Kind, int WentOut, int CameBack, int Owned);

/// <summary>The fleet over a span of days.</summary>
/// <param name="From">The first day.</param>
/// <param name="Through">The last day.</param>
/// <param name="Kinds">By kind, in ordinal order.</param>
/// <param name="Months">By month and kind; a month without anything has no line.</param>
public sealed record FleetReport(LocalDate From, LocalDate Through, ImmutableArray<KindUse> Kinds, ImmutableArray<KindMonth> Months)
{
    /// <summary>The report.</summary>
    /// <param name="units">The streams of the units that are kept, as known.</param>
    /// <param name="uses">Every use by any contract by the last day, in the same view.</param>
    /// <param name="from">The first day.</param>
    /// <param name="through">The last day.</param>
    public static FleetReport Of(IEnumerable<UnitHistory> units, IEnumerable<UnitUse> uses, LocalDate from, LocalDate through)
    {
        var bySerial = uses.GroupBy(use => use.Serial, StringComparer.Ordinal)
            .ToDictionary(group => group.Key, group => group.OrderBy(use => use.From).ThenBy(use => use.FromSequence).ToList(), StringComparer.Ordinal);
        var kept = units.Where(unit => unit.Acquisition is { } bought && bought.On <= through).ToDictionary(unit => unit.Serial, StringComparer.Ordinal);
        var kinds = new SortedDictionary<string, KindUse>(StringComparer.Ordinal);
        foreach (var serial in bySerial.Keys.Union(kept.Keys, StringComparer.Ordinal))
        {
            var mine = bySerial.GetValueOrDefault(serial, []);
            var own = kept.GetValueOrDefault(serial);
            var owned = OwnedDays(own, mine, from, through);
            if (owned == 0) { continue; }
            var kind = own?.Acquisition?.Kind ?? mine[0].Kind;
            var line = kinds.GetValueOrDefault(kind) ?? new KindUse(kind, 0, 0, 0, 0);
            kinds[kind] = line with
            {
                Units = line.Units + 1, Acquired = line.Acquired + (own is null ? 0 : 1),
                DaysOwned = line.DaysOwned + owned, DaysPlaced = line.DaysPlaced + mine.Sum(use => use.DaysWithin(from, through)),
            };
        }

        return new FleetReport(from, through, [.. kinds.Values], Season(bySerial.Values.SelectMany(list => list), from, through));
    }

    /// <summary>Days in the span on which the unit was the shop's: from its acquisition, or its first contract, to the day it left.</summary>
    private static int OwnedDays(UnitHistory? own, List<UnitUse> uses, LocalDate from, LocalDate through)
    {
        var begin = uses.Count > 0 ? uses[0].From : LocalDate.MaxIsoValue;
        if (own?.Acquisition is { } bought) { begin = LocalDate.Min(begin, bought.On); }
        var left = UnitState.At(own ?? UnitHistory.Unknown(uses[0].Serial), uses, through).LeftOn;
        var first = LocalDate.Max(begin, from);
        var end = left is { } gone && gone <= through ? gone : through.PlusDays(1);
        return first >= end ? 0 : Period.DaysBetween(first, end);
    }

    private static ImmutableArray<KindMonth> Season(IEnumerable<UnitUse> uses, LocalDate from, LocalDate through)
    {
        var months = new SortedDictionary<(YearMonth Month, string Kind), KindMonth>(Comparer<(YearMonth Month, string Kind)>.Create(
            (left, right) => left.Month.CompareTo(right.Month) is var by && by != 0 ? by : string.CompareOrdinal(left.Kind, right.Kind)));
        foreach (var use in uses)
        {
            Count(use.From, line => line with { WentOut = line.WentOut + 1 });
            if (use.BackOn is { } back) { Count(back, line => line with { CameBack = line.CameBack + 1 }); }
            if (use is { End: UseEnd.Owned, Until: { } until }) { Count(until, line => line with { Owned = line.Owned + 1 }); }

            void Count(LocalDate day, Func<KindMonth, KindMonth> more)
            {
                if (day < from || day > through) { return; }
                var month = day.ToYearMonth();
                months[(month, use.Kind)] = more(months.GetValueOrDefault((month, use.Kind)) ?? new KindMonth(month, use.Kind, 0, 0, 0));
            }
        }

        return [.. months.Values];
    }
}
