using System.Buffers;
using System.Security.Cryptography;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Papers;

/// <summary>
/// A paper for programs, and what its data digest is taken of: equal papers have the same bytes on every machine. One line of
/// UTF-8 and a line end; a fixed order; amounts as text with two decimals, days and moments in ISO 8601, nothing as null.
/// </summary>
public static class PaperJson
{
    private static readonly JsonWriterOptions Layout = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>The paper as a file's bytes.</summary>
    public static byte[] Bytes(Paper paper)
    {
        var buffer = new ArrayBufferWriter<byte>(4096);
        using (var json = new Utf8JsonWriter(buffer, Layout)) { JsonSerializer.Serialize(json, paper, PaperJsonContext.Default.Paper); }
        buffer.Write("\n"u8);
        return buffer.WrittenSpan.ToArray();
    }

    /// <summary>The SHA-256 of some bytes in lower-case hex, as common tools print it for a file.</summary>
    public static string Digest(ReadOnlySpan<byte> bytes) => Convert.ToHexStringLower(SHA256.HashData(bytes));
}

/// <summary>The shape of papers, fixed when the code is compiled.</summary>
[JsonSourceGenerationOptions(
    PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, GenerationMode = JsonSourceGenerationMode.Metadata,
    Converters = [typeof(PaperMoney), typeof(PaperDay), typeof(PaperMoment)])]
[JsonSerializable(typeof(Paper))]
internal sealed partial class PaperJsonContext : JsonSerializerContext;

/// <summary>Written and never read back: a paper is made from events, not from its JSON.</summary>
internal abstract class WriteOnly<T> : JsonConverter<T>
{
    public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        throw new NotSupportedException("A paper is made from events, never read from its JSON.");
}

/// <summary>Amounts as text with two decimals.</summary>
internal sealed class PaperMoney : WriteOnly<Money>
{
    public override void Write(Utf8JsonWriter writer, Money value, JsonSerializerOptions options) => writer.WriteStringValue(value.ToString());
}

/// <summary>Days as ISO 8601.</summary>
internal sealed class PaperDay : WriteOnly<LocalDate>
{
    public override void Write(Utf8JsonWriter writer, LocalDate value, JsonSerializerOptions options) =>
        writer.WriteStringValue(LocalDatePattern.Iso.Format(value));
}

/// <summary>Moments as ISO 8601 in UTC.</summary>
internal sealed class PaperMoment : WriteOnly<Instant>
{
    public override void Write(Utf8JsonWriter writer, Instant value, JsonSerializerOptions options) =>
        writer.WriteStringValue(InstantPattern.ExtendedIso.Format(value));
}
