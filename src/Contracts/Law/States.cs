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
}
