using System.Collections.Immutable;
using System.Text.Json.Nodes;

namespace Contracts.Host.Serving.Pages;

/// <summary>What a field of a form takes.</summary>
public enum FieldKind
{
    /// <summary>A line of text.</summary>
    Text,

    /// <summary>An amount in dollars.</summary>
    Amount,

    /// <summary>A day.</summary>
    Day,

    /// <summary>One of a few words.</summary>
    Choice,

    /// <summary>A whole number.</summary>
    Number,

    /// <summary>Yes or no.</summary>
    Flag,
}

/// <summary>A field of a form, named by its path in the command: a point leads into an object, a number into a list.</summary>
public sealed record DeedField(string Name, string Label, FieldKind Kind = FieldKind.Text, bool Needed = true, string? Hint = null, params string[] Choices);

/// <summary>Makes a command's JSON of a form, as a line of a command file has it; the same reader reads both.</summary>
internal static class FormLine
{
    private const int LongestField = 200;

    /// <summary>The fields as they were filled in, none longer than any command takes.</summary>
    public static Dictionary<string, string> Given(IEnumerable<KeyValuePair<string, Microsoft.Extensions.Primitives.StringValues>> fields) =>
        fields.ToDictionary(pair => pair.Key, pair => Short(pair.Value.ToString()), StringComparer.Ordinal);

    /// <summary>An object of the fields that were filled in. What is in a list and has no member is left out of it.</summary>
    public static JsonObject Of(IEnumerable<DeedField> fields, IReadOnlyDictionary<string, string> given)
    {
        var line = new JsonObject();
        foreach (var field in fields)
        {
            if (given.GetValueOrDefault(field.Name) is not { Length: > 0 } value) { continue; }
            Put(line, field.Name.Split('.'), 0, field.Kind switch
            {
                FieldKind.Flag => JsonValue.Create(value == "yes"),
                FieldKind.Number when int.TryParse(value, System.Globalization.CultureInfo.InvariantCulture, out var number) => JsonValue.Create(number),
                _ => JsonValue.Create(value),
            });
        }

        return line;
    }

    private static void Put(JsonObject into, string[] path, int at, JsonNode value)
    {
        if (at == path.Length - 1)
        {
            into[path[at]] = value;
        }
        else if (int.TryParse(path[at + 1], System.Globalization.CultureInfo.InvariantCulture, out var index))
        {
            if (into[path[at]] is not JsonArray list) { into[path[at]] = list = []; }
            // A row that is left empty in between would be a typing error; the rows close up.
            if (list.Count <= index) { list.Add(new JsonObject()); }
            Put((JsonObject)list[Math.Min(index, list.Count - 1)]!, path, at + 2, value);
        }
        else
        {
            if (into[path[at]] is not JsonObject child) { into[path[at]] = child = []; }
            Put(child, path, at + 1, value);
        }
    }

    private static string Short(string text) => text.Length > LongestField ? text[..LongestField] : text.Trim();
}
