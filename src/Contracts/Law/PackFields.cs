using System.Globalization;
using System.Text.Json;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Law;

/// <summary>Something in a pack's file that keeps the whole pack from being used.</summary>
/// <param name="File">The file's name.</param>
/// <param name="Rule">Which part: <c>pack</c>, <c>scope</c>, <c>sources.HI</c>, or <c>rules[4] fee-cap</c>.</param>
/// <param name="Field">The field, or empty for the part as a whole.</param>
/// <param name="Detail">What is wrong, and what would be right.</param>
public sealed record PackFault(string File, string Rule, string Field, string Detail)
{
    /// <summary>
    /// Whether it is only a word that the engine does not work with. A file with such a word is not adopted; one that was
    /// adopted before the engine knew any words of that field is read on, and the word means nothing.
    /// </summary>
    internal bool IsOnlyAWord { get; init; }
}

/// <summary>Reads the fields of one object of a pack's file, and names every one that is missing, wrong or unknown.</summary>
internal sealed class PackFields(JsonElement item, string file, string rule, List<PackFault> faults)
{
    private readonly HashSet<string> known = new(StringComparer.Ordinal);

    public JsonElement Item => item;

    public bool Has(string name) => Find(name) is not null;

    public void Fault(string field, string detail) => faults.Add(new PackFault(file, rule, field, detail));

    /// <summary>A word that the engine does not work with.</summary>
    public void Unworkable(string field, string word, IEnumerable<string> words) => faults.Add(
        new PackFault(file, rule, field, $"'{word}' is not one of {string.Join(", ", words)}.") { IsOnlyAWord = true });

    public string Text(string name)
    {
        if (OptionalText(name) is { } text) { return text; }
        if (!Has(name)) { Fault(name, "is missing."); }
        return "";
    }

    public string? OptionalText(string name)
    {
        if (Find(name) is not { } value) { return null; }
        if (value.ValueKind == JsonValueKind.String && !string.IsNullOrWhiteSpace(value.GetString())) { return value.GetString(); }
        Fault(name, "must be a text.");
        return null;
    }

    public bool Flag(string name, bool otherwise)
    {
        if (Find(name) is not { } value) { return otherwise; }
        if (value.ValueKind is JsonValueKind.True or JsonValueKind.False) { return value.GetBoolean(); }
        Fault(name, "must be true or false.");
        return otherwise;
    }

    public int? Whole(string name, int most)
    {
        if (Find(name) is not { } value) { return null; }
        if (value.ValueKind == JsonValueKind.Number && value.TryGetInt32(out var number) && number >= 0 && number <= most) { return number; }
        Fault(name, string.Create(CultureInfo.InvariantCulture, $"must be a whole number from 0 to {most}."));
        return null;
    }

    public Fraction Share(string name, Fraction otherwise)
    {
        if (OptionalText(name) is not { } text) { return otherwise; }
        if (Fraction.TryParse(text, out var share) && share <= Fraction.Of(100, 1)) { return share; }
        Fault(name, $"'{text}' is not a number such as \"2.25\" or \"1/2\", from 0 to 100.");
        return otherwise;
    }

    public Money Amount(string name)
    {
        if (OptionalText(name) is not { } text) { return Money.Zero; }
        if (Money.TryParse(text, out var amount) && amount >= Money.Zero) { return amount; }
        Fault(name, $"'{text}' is not an amount such as \"5.00\", at least 0.00.");
        return Money.Zero;
    }

    public LocalDate? Day(string name)
    {
        if (Find(name) is { ValueKind: JsonValueKind.Null } || OptionalText(name) is not { } text) { return null; }
        if (LocalDatePattern.Iso.Parse(text) is { Success: true } day) { return day.Value; }
        Fault(name, $"'{text}' is not a date such as 2026-09-05.");
        return null;
    }

    /// <summary>One of a few words; the first of them when it is missing and need not be there.</summary>
    public T Word<T>(string name, IReadOnlyDictionary<string, T> words, bool required)
    {
        var text = required ? Text(name) : OptionalText(name);
        if (text is null || text.Length == 0) { return words.Values.First(); }
        if (words.TryGetValue(text, out var meaning)) { return meaning; }
        Fault(name, $"'{text}' is not one of {string.Join(", ", words.Keys)}.");
        return words.Values.First();
    }

    public IReadOnlyList<string> Words(string name)
    {
        var words = new List<string>();
        foreach (var value in Elements(name))
        {
            if (value.ValueKind == JsonValueKind.String && !string.IsNullOrWhiteSpace(value.GetString())) { words.Add(value.GetString()!); }
            else { Fault(name, "must be a list of texts."); }
        }

        return words;
    }

    public IEnumerable<PackFields> Objects(string name)
    {
        var index = 0;
        foreach (var value in Elements(name))
        {
            var part = string.Create(CultureInfo.InvariantCulture, $"{rule} {name}[{index++}]");
            if (value.ValueKind == JsonValueKind.Object) { yield return new PackFields(value, file, part, faults); }
            else { Fault(name, "must be a list of objects."); }
        }
    }

    public PackFields? Object(string name)
    {
        if (Find(name) is not { } value) { return null; }
        if (value.ValueKind == JsonValueKind.Object) { return new PackFields(value, file, $"{rule} {name}", faults); }
        Fault(name, "must be an object.");
        return null;
    }

    /// <summary>Fields that are kept and shown as they are.</summary>
    public void Keep(params ReadOnlySpan<string> names)
    {
        foreach (var name in names) { known.Add(name); }
    }

    /// <summary>Names every field that nothing asked for: a slip of the pen must not pass for law.</summary>
    public void End()
    {
        foreach (var field in item.EnumerateObject())
        {
            if (!known.Contains(field.Name)) { Fault(field.Name, "is not a field of this kind."); }
        }
    }

    private List<JsonElement> Elements(string name)
    {
        if (Find(name) is not { } value) { return []; }
        if (value.ValueKind == JsonValueKind.Array) { return [.. value.EnumerateArray()]; }
        Fault(name, "must be a list.");
        return [];
    }

    private JsonElement? Find(string name)
    {
        known.Add(name);
        return item.TryGetProperty(name, out var value) && value.ValueKind != JsonValueKind.Null ? value : null;
    }
}
