using Contracts.Agreements;

namespace Contracts.Host.Reconstruct;

/// <summary>Which accounts are asked for: all conditions have to hold. None asks for all accounts.</summary>
/// <param name="Conditions">Pairs of a name and a value of <see cref="AccountMarks"/>.</param>
internal sealed record AccountFilter(IReadOnlyList<(string Name, string Value)> Conditions)
{
    private const int LongestValue = 100;

    public static AccountFilter None { get; } = new([]);

    public bool IsEmpty => Conditions.Count == 0;

    /// <summary>Whether it asks about what was recorded after the moment of the view.</summary>
    public bool AsksLater => Conditions.Any(one => one.Name == AccountMarks.Later);

    /// <summary>The conditions as a program sends them, each behind an ampersand.</summary>
    public string Query => string.Concat(Conditions.Select(one => $"&{one.Name}={Uri.EscapeDataString(one.Value)}"));

    /// <summary>The conditions as the command line takes them.</summary>
    public string Words => string.Concat(Conditions.Select(one => $" --where {one.Name}={one.Value}"));

    /// <summary>Reads conditions; exactly one of the answers is given. A value that is empty asks for nothing.</summary>
    public static (AccountFilter? Filter, Refusal? Refusal) Read(IEnumerable<(string Name, string? Value)> conditions)
    {
        var read = new List<(string, string)>();
        foreach (var (name, value) in conditions)
        {
            if (string.IsNullOrEmpty(value)) { continue; }
            if (!AccountMarks.Names.Contains(name)) { return (null, Unfit("where", $"'where' asks by one of {string.Join(", ", AccountMarks.Names)}.")); }
            if (value.Length > LongestValue) { return (null, Unfit(name, $"'{name}' has at most {LongestValue} characters.")); }
            if (Unknown(name, value) is { } refusal) { return (null, refusal); }
            if (!read.Contains((name, value))) { read.Add((name, value)); }
        }

        return (new AccountFilter(read), null);
    }

    private static Refusal? Unknown(string name, string value)
    {
        IReadOnlyList<string>? choices = name switch
        {
            AccountMarks.Met => AccountMarks.Meetings,
            AccountMarks.Later => [AccountMarks.Moved, AccountMarks.Same],
            AccountMarks.Status => AccountMarks.Statuses,
            _ => null,
        };
        return choices is null || choices.Contains(value) ? null : Unfit(name, $"'{name}' is one of {string.Join(", ", choices)}.");
    }

    private static Refusal Unfit(string field, string detail) => new(RefusalCode.FieldInvalid, detail, field);
}
