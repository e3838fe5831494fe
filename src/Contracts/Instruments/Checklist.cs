using System.Collections.Frozen;
using System.Collections.Immutable;
using System.Reflection;
using System.Text.Json;

namespace Contracts.Instruments;

/// <summary>An item of a checklist: its name, and what to look at.</summary>
public sealed record ChecklistItem(string Item, string Says);

/// <summary>
/// What is looked at before a unit goes out. A checklist is data and is never changed: another list, or other words, is another version.
/// </summary>
/// <param name="Name">Its name with its version, such as <c>band-and-orchestra.1</c>.</param>
/// <param name="Source">Where it comes from.</param>
/// <param name="Items">The items, in the order of looking.</param>
public sealed record Checklist(string Name, string Source, ImmutableArray<ChecklistItem> Items)
{
    private const string Folder = "checklist.";

    private static readonly FrozenDictionary<string, Checklist> ByName = Assembly.GetExecutingAssembly().GetManifestResourceNames()
        .Where(name => name.StartsWith(Folder, StringComparison.Ordinal)).Select(Read)
        .ToFrozenDictionary(list => list.Name, StringComparer.Ordinal);

    /// <summary>Every checklist that comes with the program, by name.</summary>
    public static IReadOnlyList<Checklist> All => [.. ByName.Values.OrderBy(list => list.Name, StringComparer.Ordinal)];

    /// <summary>The checklist of a name, or null.</summary>
    public static Checklist? Find(string name) => ByName.GetValueOrDefault(name);

    private static Checklist Read(string resource)
    {
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(resource)!;
        using var document = JsonDocument.Parse(stream);
        var root = document.RootElement;
        return new Checklist(
            root.GetProperty("checklist").GetString()!, root.GetProperty("source").GetString()!,
            [.. root.GetProperty("items").EnumerateArray().Select(one => new ChecklistItem(one.GetProperty("item").GetString()!, one.GetProperty("says").GetString()!))]);
    }
}
