using System.Runtime.InteropServices;
using System.Text.Json;
using System.Text.Unicode;

namespace Contracts.Seals;

/// <summary>
/// The canonical form of JSON (RFC 8785): no white space, members sorted by the UTF-16 units of their names, numbers as
/// ECMAScript writes them, strings with the fewest escapes, UTF-8. Names that repeat and lone surrogates are refused, as
/// I-JSON (RFC 7493) demands. What is sealed keeps to the restricted model besides: whole numbers of at most 2^53-1
/// either way and no U+0000, so that neither a database nor a reader with doubles can change what the form says.
/// </summary>
public static class CanonicalJson
{
    /// <summary>The largest whole number of the restricted model: 2^53-1.</summary>
    public const long LargestInteger = 9_007_199_254_740_991;

    /// <summary>How deep arrays and objects may be nested.</summary>
    public const int Deepest = 64;

    /// <summary>How many bytes a document may have: 16 MiB.</summary>
    public const int LargestInput = 16 * 1024 * 1024;

    /// <summary>The canonical form of any JSON.</summary>
    public static Parsed<byte[]> Full(ReadOnlySpan<byte> utf8) => Write(utf8, restricted: false);

    /// <summary>The canonical form of JSON in the restricted model, or what of it is outside the model.</summary>
    public static Parsed<byte[]> Restricted(ReadOnlySpan<byte> utf8) => Write(utf8, restricted: true);

    /// <summary>The canonical form of an element in the restricted model.</summary>
    public static Parsed<byte[]> Restricted(JsonElement element) =>
        Write(JsonMarshal.GetRawUtf8Value(element), restricted: true);

    /// <summary>SHA-256 of the canonical form in the restricted model: the digest of a payload or of headers.</summary>
    public static Parsed<Digest> RestrictedDigest(ReadOnlySpan<byte> utf8) =>
        Run(utf8, restricted: true) is { } fault ? fault : Digest.Of(Used!.Written);

    /// <summary>What keeps the bytes from being JSON in the restricted model and canonical already, or null.</summary>
    public static SealFault? Check(ReadOnlySpan<byte> utf8)
    {
        if (Run(utf8, restricted: true) is { } fault) { return fault; }
        return utf8.SequenceEqual(Used!.Written)
            ? null
            : new SealFault(SealFaultKind.JsonNotCanonical, "The JSON says the same in canonical form with other bytes.");
    }

    /// <summary>More room than this is not kept for the next document.</summary>
    private const int Kept = 1 << 20;

    /// <summary>What this thread used last: millions of documents are written one after the other, and making room for each was half the time.</summary>
    [ThreadStatic]
    private static Canonicalizer? used;

    private static Canonicalizer? Used => used;

    private static Parsed<byte[]> Write(ReadOnlySpan<byte> utf8, bool restricted) =>
        Run(utf8, restricted) is { } fault ? fault : Used!.Written.ToArray();

    /// <summary>Leaves the canonical form in <see cref="Used"/>; what is wrong with the JSON, or null.</summary>
    private static SealFault? Run(ReadOnlySpan<byte> utf8, bool restricted)
    {
        if (utf8.Length > LargestInput)
        {
            return new SealFault(SealFaultKind.JsonTooLarge, $"The JSON has {utf8.Length} bytes; {LargestInput} are read.");
        }

        if (!Utf8.IsValid(utf8)) { return new SealFault(SealFaultKind.JsonNotUtf8, "The JSON is not valid UTF-8."); }
        // One level more than allowed, so that the reader does not throw where a clear reason can be given.
        var reader = new Utf8JsonReader(utf8, new JsonReaderOptions { MaxDepth = Deepest + 1 });
        if (used is null || used.Written.Length > Kept) { used = new Canonicalizer(); }
        used.Begin(restricted);
        try
        {
            if (!reader.Read()) { return new SealFault(SealFaultKind.JsonMalformed, "There is no JSON."); }
            if (used.Value(ref reader) is { } fault) { return fault; }
            // Reading on to the end finds what stands behind the value.
            reader.Read();
            return null;
        }
        catch (JsonException wrong)
        {
            return new SealFault(SealFaultKind.JsonMalformed, $"Not JSON: {wrong.Message}");
        }
    }
}
