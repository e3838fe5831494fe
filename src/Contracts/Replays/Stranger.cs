using System.Globalization;

namespace Contracts.Replays;

/// <summary>
/// Other names for what could tell who it was: the same name for the same thing within one extract, by the order in which
/// things first appear, so that the same accounts make the same file. Nothing of the old names is left in the new ones.
/// </summary>
internal sealed class Stranger
{
    private readonly Dictionary<(string, string), string> names = [];
    private readonly Dictionary<string, int> counts = new(StringComparer.Ordinal);

    /// <summary>The other name of a thing.</summary>
    /// <param name="prefix">What kind of thing it is, such as <c>H</c>.</param>
    /// <param name="name">Its name.</param>
    public string Of(string prefix, string name)
    {
        if (names.TryGetValue((prefix, name), out var other)) { return other; }
        var count = counts[prefix] = counts.GetValueOrDefault(prefix) + 1;
        return names[(prefix, name)] = string.Create(CultureInfo.InvariantCulture, $"{prefix}-{count}");
    }

    /// <summary>The id of a fee with the key in it replaced; a day in its place stays.</summary>
    public string OfFee(string fee)
    {
        var colon = fee.IndexOf(':', StringComparison.Ordinal);
        return colon < 0 || fee.StartsWith("late:", StringComparison.Ordinal) ? fee : $"{fee[..colon]}:{Of("K", fee[(colon + 1)..])}";
    }
}
