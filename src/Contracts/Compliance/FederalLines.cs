using System.Globalization;
using System.Text.Json;
using Contracts.Law;
using NodaTime;

namespace Contracts.Compliance;

/// <summary>
/// The line that Regulation M draws (12 CFR 1013.2(e)): a lease for more than four months, of at most a sum that changes
/// by the year. A month-to-month rental that can be ended free of charge stays outside it, whatever it may come to.
/// </summary>
public static class FederalLines
{
    /// <summary>A lease is covered when it is for longer than this.</summary>
    private const int Months = 4;

    /// <summary>Whether a lease would be a consumer lease.</summary>
    /// <param name="on">The day it is signed.</param>
    /// <param name="firstTermMonths">The term the family is bound for.</param>
    /// <param name="chargeForEnding">Whether ending it after the first term costs anything: comment 2(e)-3 counts that as a longer term.</param>
    /// <param name="total">All it obliges the family to pay.</param>
    public static bool IsConsumerLease(LocalDate on, int firstTermMonths, bool chargeForEnding, Money total) =>
        (firstTermMonths > Months || chargeForEnding) && total <= Threshold(on);

    /// <summary>The sum above which Regulation M does not apply on a day, as the pack has it; years from 2019 on are from memory.</summary>
    public static Money Threshold(LocalDate on)
    {
        var (found, since) = (Money.Zero, LocalDate.MinIsoValue);
        foreach (var rule in LawBook.SuppliedFor("US-REGM")!.Rules.Where(rule => rule.Kind == "dollar-line"))
        {
            foreach (var line in rule.Head.Text.GetProperty("thresholdUsd").EnumerateObject())
            {
                var from = FirstDay(line.Name);
                if (from <= on && from >= since) { (found, since) = (Amount(line.Value), from); }
            }
        }

        return found;
    }

    /// <summary>A line's first day: a date, a year, or the beginning of time for the one that only says how long it held.</summary>
    private static LocalDate FirstDay(string name) => name.Length switch
    {
        4 => new LocalDate(int.Parse(name, CultureInfo.InvariantCulture), 1, 1),
        10 => NodaTime.Text.LocalDatePattern.Iso.Parse(name).Value,
        _ => LocalDate.MinIsoValue,
    };

    private static Money Amount(JsonElement value) => Money.Parse(value.GetString()!);
}
