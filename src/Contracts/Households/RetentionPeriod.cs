using System.Globalization;
using System.Text.RegularExpressions;
using Contracts.Law;
using NodaTime;

namespace Contracts.Households;

/// <summary>How long a contract's records are kept, and by which rule.</summary>
/// <param name="Through">The last day.</param>
/// <param name="Citation">The rule.</param>
public readonly partial record struct RetentionPeriod(LocalDate Through, string Citation)
{
    /// <summary>
    /// The shop's own floor, in years after the last day of a contract, where no act asks for more: common practice, no source. Tax and limitation
    /// periods differ by state; counsel decides.
    /// </summary>
    public const int FloorYears = 7;

    /// <summary>
    /// The longest period that holds for a contract. An act's period runs from signing, termination or the last payment; all are
    /// counted from the contract's last day here, which is none of them too early.
    /// </summary>
    public static RetentionPeriod Of(KeptContract contract)
    {
        var longest = new RetentionPeriod(contract.LastDay.PlusYears(FloorYears), "shop's own floor, docs/households.md");
        foreach (var rule in contract.Law?.Rules ?? [])
        {
            if (rule.Kind != "retention" || !rule.Head.Text.TryGetProperty("period", out var words)) { continue; }
            if (Years().Match(words.GetString() ?? "") is not { Success: true } found) { continue; }
            var through = contract.LastDay.PlusYears(int.Parse(found.Groups[1].ValueSpan, CultureInfo.InvariantCulture));
            if (through > longest.Through) { longest = new RetentionPeriod(through, rule.Citation); }
        }

        return longest;
    }

    [GeneratedRegex(@"\b(\d{1,2}) years?\b", RegexOptions.CultureInvariant)]
    private static partial Regex Years();
}
