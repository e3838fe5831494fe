using System.Collections.Frozen;
using System.Text.Json;
using Contracts.Agreements;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Commands;

/// <summary>Thrown inside the reader only, and answered as a refusal at its edge.</summary>
internal sealed class Unreadable(RefusalCode code, string detail, string? field = null, string? right = null) : Exception(detail)
{
    public Refusal Refusal { get; } = new(code, detail, field, right);
}

/// <summary>The fields of one JSON object, read by name and type.</summary>
internal sealed class Fields
{
    private const int LongestText = 200;

    /// <summary>Every field any command has. A name outside this list is a typing error that could cost money.</summary>
    private static readonly FrozenSet<string> Vocabulary = (
        "do key contract on at by reason jurisdiction rate from taxes rent plan fees sale household instrument kind "
        + "serial condition cost state startOn terms accessories description price planElected through amount method "
        + "reference payment code returnBy fee share cashPrice purchasePrice introductory months monthlyRent "
        + "creditShare earlyPurchase throughMonth discount monthly chargedInIntroductory lateFee graceDays "
        + "returnedPaymentFee regime parts authority month shop pack counselNote "
        + "retailValue earlierRents schoolUse location marketValue quote validThrough for facts students name address phone email school grade "
        + "teacher proposal change add remove redate with law damage estimate carrier supplier checklist results item result note "
        + "inspector passed entry shares dispute claim says about title digest finding outcome ground startsAtDelivery deliveredOn").Split(' ').ToFrozenSet(StringComparer.Ordinal);

    private readonly Dictionary<string, JsonElement> fields = new(StringComparer.Ordinal);
    private readonly string path;

    public Fields(JsonElement source, string path)
    {
        this.path = path;
        foreach (var property in source.EnumerateObject())
        {
            var name = NameOf(property);
            if (!Vocabulary.Contains(name)) { throw new Unreadable(RefusalCode.FieldUnknown, $"No command has a field '{name}'.", path + name); }
            if (!fields.TryAdd(name, property.Value)) { throw new Unreadable(RefusalCode.FieldRepeated, $"'{name}' is given twice.", path + name); }
        }
    }

    public string Text(string name) => OptionalText(name) ?? throw Missing(name);

    public string? OptionalText(string name)
    {
        if (Find(name) is not { } value) { return null; }
        if (value.ValueKind != JsonValueKind.String) { throw Wrong(name, "text"); }
        var text = Decoded(value, name);
        if (text.Length is 0 or > LongestText || text.Any(char.IsControl))
        {
            throw new Unreadable(
                RefusalCode.FieldInvalid, $"'{name}' needs 1 to {LongestText} characters without control characters.", path + name);
        }

        return text;
    }

    /// <summary>A whole file given as a text: as long as a line may be, with line ends and tabs.</summary>
    public string FileText(string name)
    {
        if (Find(name) is not { } value) { throw Missing(name); }
        if (value.ValueKind != JsonValueKind.String) { throw Wrong(name, "text"); }
        return Decoded(value, name);
    }

    public string OneOf(string name, params ReadOnlySpan<string> choices)
    {
        var text = Text(name);
        foreach (var choice in choices)
        {
            if (text == choice) { return text; }
        }

        throw new Unreadable(
            RefusalCode.FieldInvalid, $"'{name}' must be one of {string.Join(", ", choices.ToArray())}.", path + name);
    }

    /// <summary>An amount is a string with no or two decimals, and not negative.</summary>
    public Money Amount(string name) => OptionalAmount(name) ?? throw Missing(name);

    public Money? OptionalAmount(string name)
    {
        if (Find(name) is not { } value) { return null; }
        if (value.ValueKind == JsonValueKind.String && Money.TryParse(Decoded(value, name), out var amount) && amount >= Money.Zero)
        {
            return amount;
        }

        throw new Unreadable(
            RefusalCode.AmountInvalid,
            $"'{name}' must be dollars and whole cents in quotes, such as \"38.00\".", path + name);
    }

    /// <summary>A rate is a decimal of at most eight places, in quotes or as a plain number.</summary>
    public Rate Rate(string name)
    {
        var value = Find(name) ?? throw Missing(name);
        var text = value.ValueKind switch
        {
            JsonValueKind.String => Decoded(value, name),
            JsonValueKind.Number => value.GetRawText(),
            _ => throw Wrong(name, "a decimal"),
        };
        return Contracts.Rate.TryParse(text, out var rate)
            ? rate
            : throw new Unreadable(RefusalCode.FieldInvalid, $"'{name}' must be a decimal of at most eight places.", path + name);
    }

    public int WholeNumber(string name) => OptionalWholeNumber(name) ?? throw Missing(name);

    public int? OptionalWholeNumber(string name)
    {
        if (Find(name) is not { } value) { return null; }
        return value.ValueKind == JsonValueKind.Number && value.TryGetInt32(out var number) ? number : throw Wrong(name, "a whole number");
    }

    public bool OptionalFlag(string name)
    {
        if (Find(name) is not { } value) { return false; }
        return value.ValueKind is JsonValueKind.True or JsonValueKind.False ? value.GetBoolean() : throw Wrong(name, "true or false");
    }

    /// <summary>A flag that must be given: leaving it out would be a guess.</summary>
    public bool Flag(string name) => Find(name) is null ? throw Missing(name) : OptionalFlag(name);

    public LocalDate? OptionalDate(string name) => Find(name) is null ? null : Date(name);

    public LocalDate Date(string name)
    {
        var text = Text(name);
        var parsed = LocalDatePattern.Iso.Parse(text);
        return parsed.Success && parsed.Value.Year is >= 1900 and <= 2200
            ? parsed.Value
            : throw new Unreadable(RefusalCode.DateInvalid, $"'{text}' is not a date such as 2026-09-05.", path + name);
    }

    public YearMonth Month(string name)
    {
        var text = Text(name);
        var parsed = YearMonthPattern.Iso.Parse(text);
        return parsed.Success && text.Length == 7 && parsed.Value.Year is >= 1900 and <= 2200
            ? parsed.Value
            : throw new Unreadable(RefusalCode.DateInvalid, $"'{text}' is not a month such as 2026-09.", path + name);
    }

    public Instant? OptionalInstant(string name)
    {
        if (OptionalText(name) is not { } text) { return null; }
        var parsed = InstantPattern.ExtendedIso.Parse(text);
        return parsed.Success
            ? parsed.Value
            : throw new Unreadable(RefusalCode.DateInvalid, $"'{text}' is not an instant such as 2026-09-05T14:00:00Z.", path + name);
    }

    public Fields Object(string name) => OptionalObject(name) ?? throw Missing(name);

    public Fields? OptionalObject(string name)
    {
        if (Find(name) is not { } value) { return null; }
        return value.ValueKind == JsonValueKind.Object ? new Fields(value, $"{path}{name}.") : throw Wrong(name, "an object");
    }

    /// <summary>An object as it was written; what is in it is for another reader.</summary>
    public string ObjectText(string name)
    {
        var value = Find(name) ?? throw Missing(name);
        if (value.ValueKind != JsonValueKind.Object) { throw Wrong(name, "an object"); }
        try
        {
            return value.GetRawText();
        }
        catch (InvalidOperationException)
        {
            // Bytes in it that are not UTF-8, which the parser has not looked at.
            throw Wrong(name, "text in Unicode");
        }
    }

    public IEnumerable<Fields> List(string name)
    {
        if (Find(name) is not { } value) { yield break; }
        if (value.ValueKind != JsonValueKind.Array) { throw Wrong(name, "a list"); }
        foreach (var element in value.EnumerateArray())
        {
            yield return element.ValueKind == JsonValueKind.Object
                ? new Fields(element, $"{path}{name}.")
                : throw Wrong(name, "a list of objects");
        }
    }

    private string NameOf(JsonProperty property)
    {
        try
        {
            return property.Name;
        }
        catch (InvalidOperationException)
        {
            // The parser looks at names no sooner: bytes that are not UTF-8, or half a surrogate pair.
            throw new Unreadable(RefusalCode.MalformedLine, "A field has a name that is not text in Unicode.", path.TrimEnd('.') is { Length: > 0 } place ? place : null);
        }
    }

    private JsonElement? Find(string name) =>
        fields.TryGetValue(name, out var value) && value.ValueKind != JsonValueKind.Null ? value : null;

    private string Decoded(JsonElement value, string name)
    {
        try
        {
            return value.GetString() ?? "";
        }
        catch (InvalidOperationException)
        {
            // Escapes that make no character, such as half a surrogate pair.
            throw Wrong(name, "text in Unicode");
        }
    }

    private Unreadable Missing(string name) => new(RefusalCode.FieldMissing, $"'{name}' is missing.", path + name);

    private Unreadable Wrong(string name, string expected) =>
        new(RefusalCode.FieldInvalid, $"'{name}' must be {expected}.", path + name);
}
