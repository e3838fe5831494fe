using NodaTime;

namespace Contracts.Law;

/// <summary>Finds rules of one pack that would both answer the same question on the same day.</summary>
internal static class RuleOverlaps
{
    public static IEnumerable<(string Field, string Detail)> In(LawPack pack)
    {
        for (var left = 0; left < pack.Rules.Length; left++)
        {
            for (var right = left + 1; right < pack.Rules.Length; right++)
            {
                var (one, two) = (pack.Rules[left], pack.Rules[right]);
                if (Question(one) is { } question && question == Question(two) && one.Loaded && two.Loaded && SameDay(one, two))
                {
                    yield return ($"rules[{right}] {two.Kind}", $"holds on the same days as rules[{left}] for the same thing ({question}).");
                }
            }
        }
    }

    /// <summary>What a rule is the only answer to; null where several may stand side by side.</summary>
    private static string? Question(LawRule rule) => rule switch
    {
        LawRule.PurchasePrice price => $"early purchase from month {price.FromMonth ?? 0}",
        LawRule.FeeCap { Fee: "late", Forbidden: false } fee => $"late fee, {fee.Frequency}",
        LawRule.OwnershipTrigger => "ownership",
        LawRule.Reinstatement window => window.AfterRepossession ? "reinstatement after repossession" : "reinstatement",
        LawRule.CreditSaleTest => "credit sale test",
        LawRule.MinimumCreditShare => "minimum credit share",
        LawRule.AllocationOrder => "order of payments",
        _ => null,
    };

    private static bool SameDay(LawRule one, LawRule two) =>
        (one.Head.From ?? LocalDate.MinIsoValue) <= (two.Head.To ?? LocalDate.MaxIsoValue)
        && (two.Head.From ?? LocalDate.MinIsoValue) <= (one.Head.To ?? LocalDate.MaxIsoValue);
}
