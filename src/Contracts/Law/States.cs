using System.Collections.Frozen;

namespace Contracts.Law;

/// <summary>The states a contract can be under: the USPS codes of the states and the District of Columbia.</summary>
public static class States
{
    private static readonly FrozenSet<string> Codes = (
        "AL AK AZ AR CA CO CT DE DC FL GA HI ID IL IN IA KS KY LA ME MD MA MI MN MS MO MT NE NV NH NJ NM NY NC ND "
        + "OH OK OR PA RI SC SD TN TX UT VT VA WA WV WI WY").Split(' ').ToFrozenSet(StringComparer.Ordinal);

    /// <summary>Days after a return within which a family may reinstate where no act says otherwise.</summary>
    public const int DefaultReinstatementDays = 30;

    public static bool Knows(string code) => Codes.Contains(code);

    /// <summary>Whether a law pack may be for it: a state, Puerto Rico, or federal rules under a name that begins with <c>US-</c>.</summary>
    public static bool HasPack(string code) => Knows(code) || code == "PR" || code.StartsWith("US-", StringComparison.Ordinal);
}
