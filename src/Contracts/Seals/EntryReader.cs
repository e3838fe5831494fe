using System.Text.Json;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Seals;

/// <summary>
/// The members of a foreign entry, each taken once by its name. The first thing that is wrong is kept and told at the
/// end; until then a stand-in is given, so that a kind reads its members without a question after each.
/// </summary>
internal sealed class EntryReader
{
    private readonly Dictionary<string, string?> texts = new(StringComparer.Ordinal);
    private SealFault? fault;

    private EntryReader()
    {
    }

    public string Kind { get; private set; } = "";

    /// <summary>Reads the object and takes version and kind.</summary>
    public static Parsed<EntryReader> Of(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length > LogEntry.Longest) { return new SealFault(SealFaultKind.EntryTooLong, $"An entry has at most {LogEntry.Longest} bytes."); }
        if (CanonicalJson.Check(bytes) is { } wrong) { return wrong; }
        var reader = new Utf8JsonReader(bytes);
        reader.Read();
        if (reader.TokenType != JsonTokenType.StartObject) { return new SealFault(SealFaultKind.JsonMalformed, "An entry is an object."); }
        var fields = new EntryReader();
        var version = (string?)null;
        while (reader.Read() && reader.TokenType == JsonTokenType.PropertyName)
        {
            var name = reader.GetString()!;
            reader.Read();
            if (name == "v" && reader.TokenType == JsonTokenType.Number) { version = System.Text.Encoding.ASCII.GetString(reader.ValueSpan); }
            else if (reader.TokenType is JsonTokenType.String or JsonTokenType.Null) { fields.texts.Add(name, reader.GetString()); }
            else { return new SealFault(SealFaultKind.EntryFieldInvalid, $"The member {name} of an entry is a string or null."); }
        }

        if (version is null) { return new SealFault(SealFaultKind.EntryFieldMissing, "The entry has no version."); }
        if (version != "1") { return new SealFault(SealFaultKind.EntryVersionUnknown, $"Entries of version {version} are not known here."); }
        fields.Kind = fields.Text("kind");
        return fields.fault is null ? fields : fields.fault;
    }

    /// <summary>What was wrong with the members that were taken, or the one that nobody took.</summary>
    public SealFault? Finish() => fault ?? (texts.Count == 0
        ? null
        : new SealFault(SealFaultKind.EntryFieldUnknown, $"A {Kind} entry has no member {texts.Keys.First()}."));

    public string? OptionalText(string name)
    {
        if (!texts.Remove(name, out var value))
        {
            Keep(SealFaultKind.EntryFieldMissing, $"The entry has no member {name}.");
            return null;
        }

        if (value is { Length: 0 }) { Keep(SealFaultKind.EntryFieldInvalid, $"The member {name} of the entry is empty."); }
        return value;
    }

    public string Text(string name)
    {
        if (OptionalText(name) is { } value) { return value; }
        Keep(SealFaultKind.EntryFieldInvalid, $"The member {name} of the entry is null.");
        return "-";
    }

    public long Count(string name) => Checkpoint.Decimal(Text(name)) ?? Wrong(name, "a count in digits", 0L);

    public Digest Hash(string name) => Digest.TryParseHex(Text(name), out var hash) ? hash : Wrong(name, "a digest in lower-case hexadecimal", hash);

    public Instant At(string name) =>
        EntryWriter.Moment.Parse(Text(name)).TryGetValue(default, out var value) && value.InUtc().Year > 0
            ? value
            : Wrong(name, "a moment in UTC with six decimals", value);

    public LocalDate? Day(string name) => OptionalText(name) is not { } text ? null
        : LocalDatePattern.Iso.Parse(text).TryGetValue(default, out var value) && value.Year > 0 ? value : Wrong(name, "a day", value);

    public Guid Id(string name) => Guid.TryParseExact(Text(name), "D", out var value) ? value : Wrong(name, "a UUID", value);

    /// <summary>Says that a member is not what it should be, and gives the stand-in.</summary>
    public T Wrong<T>(string name, string rule, T standIn)
    {
        Keep(SealFaultKind.EntryFieldInvalid, $"The member {name} of the entry is not {rule}.");
        return standIn;
    }

    private void Keep(SealFaultKind kind, string detail) => fault ??= new SealFault(kind, detail);
}
