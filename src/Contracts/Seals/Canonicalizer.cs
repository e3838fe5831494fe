using System.Text;
using System.Text.Json;

namespace Contracts.Seals;

/// <summary>Goes through JSON once and writes its canonical form; see <see cref="CanonicalJson"/> for what is promised.</summary>
internal sealed class Canonicalizer
{
    private readonly CanonicalWriter writer = new(1024);
    private readonly CanonicalMembers members;
    private byte[] name = new byte[128];
    private bool restricted;

    public Canonicalizer() => members = new CanonicalMembers(writer);

    /// <summary>What was written since <see cref="Begin"/>.</summary>
    public ReadOnlySpan<byte> Written => writer.Since(0);

    /// <summary>Begins another document; the room of the last one is used again.</summary>
    public void Begin(bool inRestrictedModel)
    {
        restricted = inRestrictedModel;
        writer.CutTo(0);
        members.Reset();
    }

    /// <summary>Writes the value at which the reader stands, to its end; what is wrong with it, or null.</summary>
    public SealFault? Value(ref Utf8JsonReader reader)
    {
        switch (reader.TokenType)
        {
            case JsonTokenType.StartObject:
                return Object(ref reader);
            case JsonTokenType.StartArray:
                return Array(ref reader);
            case JsonTokenType.String:
                return Text(ref reader);
            case JsonTokenType.Number:
                return Number(reader.ValueSpan);
            case JsonTokenType.True:
                writer.Raw("true"u8);
                return null;
            case JsonTokenType.False:
                writer.Raw("false"u8);
                return null;
            default:
                writer.Raw("null"u8);
                return null;
        }
    }

    private SealFault? Array(ref Utf8JsonReader reader)
    {
        if (Deep(ref reader) is { } deep) { return deep; }
        writer.Raw((byte)'[');
        for (var first = true; reader.Read() && reader.TokenType != JsonTokenType.EndArray; first = false)
        {
            if (!first) { writer.Raw((byte)','); }
            if (Value(ref reader) is { } fault) { return fault; }
        }

        writer.Raw((byte)']');
        return null;
    }

    private SealFault? Object(ref Utf8JsonReader reader)
    {
        if (Deep(ref reader) is { } deep) { return deep; }
        var (frame, ordered) = (members.Begin(), true);
        while (reader.Read() && reader.TokenType != JsonTokenType.EndObject)
        {
            if (Unescape(ref reader, out var length) is { } wrong) { return wrong; }
            ordered &= members.Begin(frame, name.AsSpan(0, length));
            writer.Text(name.AsSpan(0, length));
            writer.Raw((byte)':');
            reader.Read();
            if (Value(ref reader) is { } fault) { return fault; }
            members.End();
        }

        return members.Finish(frame, ordered) is { } repeated
            ? new SealFault(SealFaultKind.JsonNameRepeated, $"The name '{Encoding.UTF8.GetString(repeated)}' stands twice in one object.")
            : null;
    }

    private SealFault? Text(ref Utf8JsonReader reader)
    {
        if (Unescape(ref reader, out var length) is { } fault) { return fault; }
        writer.Text(name.AsSpan(0, length));
        return null;
    }

    /// <summary>The text of a string or name, without escapes, in the buffer.</summary>
    private SealFault? Unescape(ref Utf8JsonReader reader, out int length)
    {
        if (name.Length < reader.ValueSpan.Length) { name = new byte[Math.Max(reader.ValueSpan.Length, 2 * name.Length)]; }
        if (!reader.ValueIsEscaped)
        {
            // Without escapes there is neither U+0000 nor a surrogate: the grammar forbids the one, UTF-8 the other.
            reader.ValueSpan.CopyTo(name);
            length = reader.ValueSpan.Length;
            return null;
        }

        try
        {
            length = reader.CopyString(name);
        }
        catch (InvalidOperationException)
        {
            length = 0;
            return new SealFault(SealFaultKind.JsonLoneSurrogate, "A string has half of a surrogate pair.");
        }

        return restricted && name.AsSpan(0, length).Contains((byte)0)
            ? new SealFault(SealFaultKind.JsonNul, "A string has the character U+0000, which the database cannot keep.")
            : null;
    }

    private SealFault? Number(ReadOnlySpan<byte> token)
    {
        if (!restricted)
        {
            if (EcmaNumber.Rewrite(token) is not { } number)
            {
                return new SealFault(SealFaultKind.JsonNumberTooLarge, "A number is larger than any double.");
            }

            writer.Raw(Encoding.ASCII.GetBytes(number));
            return null;
        }

        // Told by its shape, not by its value: 1.0 is a fraction here, for a database keeps it as 1.0.
        if (token.IndexOfAny(".eE"u8) >= 0 || token.SequenceEqual("-0"u8))
        {
            return new SealFault(SealFaultKind.JsonNotAnInteger, $"{Encoding.ASCII.GetString(token)} is not a whole number; write it as a string.");
        }

        if (!Within(token))
        {
            return new SealFault(SealFaultKind.JsonNumberTooLarge, "A whole number is beyond 2^53-1; write it as a string.");
        }

        writer.Raw(token);
        return null;
    }

    private static bool Within(ReadOnlySpan<byte> token) =>
        token.Length <= 17
        && System.Buffers.Text.Utf8Parser.TryParse(token, out long value, out var used) && used == token.Length
        && value is >= -CanonicalJson.LargestInteger and <= CanonicalJson.LargestInteger;

    private static SealFault? Deep(ref Utf8JsonReader reader) => reader.CurrentDepth < CanonicalJson.Deepest
        ? null
        : new SealFault(SealFaultKind.JsonTooDeep, $"Arrays and objects are nested deeper than {CanonicalJson.Deepest}.");
}
