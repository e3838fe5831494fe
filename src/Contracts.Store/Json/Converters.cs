using System.Buffers.Text;
using System.Text.Json;
using System.Text.Json.Serialization;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Store.Json;

/// <summary>Amounts are strings with two decimals, so that no reader takes them for floating point.</summary>
internal sealed class MoneyConverter : JsonConverter<Money>
{
    public override Money Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        // The plain shape, digits.cc without escapes, is nearly all there is; anything else takes the careful road.
        if (!reader.HasValueSequence && !reader.ValueIsEscaped && TryReadPlain(reader.ValueSpan, out var plain)) { return plain; }
        return Money.TryParse(reader.GetString() ?? "", out var money) ? money : throw new JsonException("Not an amount.");
    }

    public override void Write(Utf8JsonWriter writer, Money value, JsonSerializerOptions options)
    {
        Span<char> text = stackalloc char[32];
        var size = Math.Abs(value.Cents);
        var start = 0;
        if (value.Cents < 0) { text[start++] = '-'; }
        (size / 100).TryFormat(text[start..], out var digits);
        var at = start + digits;
        text[at] = '.';
        text[at + 1] = (char)('0' + (size % 100 / 10));
        text[at + 2] = (char)('0' + (size % 10));
        writer.WriteStringValue(text[..(at + 3)]);
    }

    public static bool TryReadPlain(ReadOnlySpan<byte> text, out Money money)
    {
        money = Money.Zero;
        if (text.Length is < 4 or > 14 || text[^3] != '.') { return false; }
        var cents = 0L;
        for (var index = 0; index < text.Length; index++)
        {
            if (index == text.Length - 3) { continue; }
            var digit = text[index] - '0';
            if (digit is < 0 or > 9) { return false; }
            cents = (cents * 10) + digit;
        }

        money = new Money(cents);
        return true;
    }
}

/// <summary>Rates are strings, exact to eight decimals.</summary>
internal sealed class RateConverter : JsonConverter<Rate>
{
    public override Rate Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        Rate.TryParse(reader.GetString() ?? "", out var rate) ? rate : throw new JsonException("Not a rate.");

    public override void Write(Utf8JsonWriter writer, Rate value, JsonSerializerOptions options) =>
        writer.WriteStringValue(value.ToString());
}

/// <summary>Days as ISO 8601; the general NodaTime converter reads the same text, several times slower.</summary>
internal sealed class LocalDateConverter : JsonConverter<LocalDate>
{
    public override LocalDate Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        if (!reader.HasValueSequence && TryReadPlain(reader.ValueSpan, out var date)) { return date; }
        var parsed = LocalDatePattern.Iso.Parse(reader.GetString() ?? "");
        return parsed.Success ? parsed.Value : throw new JsonException("Not a date.");
    }

    public override void Write(Utf8JsonWriter writer, LocalDate value, JsonSerializerOptions options) =>
        writer.WriteStringValue(LocalDatePattern.Iso.Format(value));

    public static bool TryReadPlain(ReadOnlySpan<byte> text, out LocalDate date)
    {
        date = default;
        if (text.Length != 10 || text[4] != '-' || text[7] != '-'
            || !Utf8Parser.TryParse(text[..4], out int year, out var used) || used != 4
            || !Utf8Parser.TryParse(text[5..7], out int month, out used) || used != 2 || month is < 1 or > 12
            || !Utf8Parser.TryParse(text[8..], out int day, out used) || used != 2
            || year < 1 || day < 1 || day > CalendarSystem.Iso.GetDaysInMonth(year, month))
        {
            return false;
        }

        date = new LocalDate(year, month, day);
        return true;
    }
}

/// <summary>Moments as ISO 8601 in UTC, with as many decimals as they have.</summary>
internal sealed class InstantConverter : JsonConverter<Instant>
{
    public override Instant Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        var parsed = InstantPattern.ExtendedIso.Parse(reader.GetString() ?? "");
        return parsed.Success ? parsed.Value : throw new JsonException("Not a moment.");
    }

    public override void Write(Utf8JsonWriter writer, Instant value, JsonSerializerOptions options) =>
        writer.WriteStringValue(InstantPattern.ExtendedIso.Format(value));
}
