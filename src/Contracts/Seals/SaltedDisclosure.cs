using System.Text;
using System.Text.Json;

namespace Contracts.Seals;

/// <summary>
/// A personal field that an event holds only as a digest (RFC 9901, section 4.2): the text is base64url of the JSON
/// array of salt, name and value, the digest base64url of SHA-256 of that text. Who is given the text can hold it against
/// the event; who is not learns nothing, and once salt and value are destroyed nobody can.
/// </summary>
public sealed record SaltedDisclosure
{
    /// <summary>How many bytes of salt there are: 128 bits, as RFC 9901, section 9.3, asks for at least.</summary>
    public const int SaltLength = 16;

    /// <summary>How long the text may be.</summary>
    public const int Longest = 64 * 1024;

    private SaltedDisclosure(string salt, string name, string value, string text) =>
        (Salt, Name, Value, Text, Digest) = (salt, name, value, text, DigestOf(text));

    public string Salt { get; }

    public string Name { get; }

    public string Value { get; }

    /// <summary>What is handed out, in base64url.</summary>
    public string Text { get; }

    /// <summary>What the event holds: 43 characters of base64url.</summary>
    public string Digest { get; }

    /// <summary>Makes a disclosure with a salt of 16 random bytes, which come from elsewhere.</summary>
    public static SaltedDisclosure Of(ReadOnlySpan<byte> salt, string name, string value)
    {
        if (salt.Length < SaltLength) { throw new ArgumentException($"A salt has at least {SaltLength} bytes.", nameof(salt)); }
        var word = Base64Text.WriteUrl(salt);
        var json = new CanonicalWriter(64);
        json.Raw((byte)'[');
        json.Text(word);
        json.Raw(", "u8);
        json.Text(name);
        json.Raw(", "u8);
        json.Text(value);
        json.Raw((byte)']');
        return new SaltedDisclosure(word, name, value, Base64Text.WriteUrl(json.ToBytes()));
    }

    /// <summary>Reads a disclosure; white space in its JSON is the maker's choice and part of what is hashed.</summary>
    public static Parsed<SaltedDisclosure> Parse(string text)
    {
        if (text.Length > Longest || Base64Text.ReadUrl(text) is not { } bytes) { return Malformed("is base64url of bounded size"); }
        if (!CanonicalJson.Restricted(bytes).TryGet(out _, out var fault)) { return fault; }
        using var json = JsonDocument.Parse(bytes);
        var items = json.RootElement.ValueKind == JsonValueKind.Array ? json.RootElement.EnumerateArray().ToList() : [];
        if (items.Count != 3 || items.Exists(item => item.ValueKind != JsonValueKind.String)) { return Malformed("is an array of three strings"); }
        return new SaltedDisclosure(items[0].GetString()!, items[1].GetString()!, items[2].GetString()!, text);
    }

    /// <summary>The digest of a disclosure's text: base64url of SHA-256 of its ASCII.</summary>
    public static string DigestOf(string text) => Base64Text.WriteUrl(Seals.Digest.Of(Encoding.ASCII.GetBytes(text)).ToBytes());

    /// <summary>What is wrong where the event's digests do not hold this disclosure, or null.</summary>
    public SealFault? HeldBy(IEnumerable<string> digests) => digests.Contains(Digest, StringComparer.Ordinal)
        ? null
        : new SealFault(SealFaultKind.DisclosureNotCommitted, $"No digest of the event is that of the disclosed {Name}.");

    private static SealFault Malformed(string rule) => new(SealFaultKind.DisclosureMalformed, $"A disclosure {rule}.");
}
