using System.Runtime.InteropServices;
using System.Security.Cryptography;
using System.Text;

namespace Contracts.Seals;

/// <summary>
/// A SHA-256 value (FIPS 180-4): 32 bytes, compared as a value. JSON carries it as 64 lower-case hexadecimal digits,
/// C2SP text as base64.
/// </summary>
[StructLayout(LayoutKind.Sequential)]
public readonly record struct Digest
{
    /// <summary>How many bytes a digest has.</summary>
    public const int Length = 32;

    private readonly ulong first;
    private readonly ulong second;
    private readonly ulong third;
    private readonly ulong fourth;

    /// <summary>The digest in exactly 32 bytes.</summary>
    public Digest(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length != Length) { throw new ArgumentException("A digest has 32 bytes.", nameof(bytes)); }
        this = MemoryMarshal.Read<Digest>(bytes);
    }

    /// <summary>All zeros: what stands for "there is none before".</summary>
    public static Digest Zero => default;

    /// <summary>SHA-256 of the bytes.</summary>
    public static Digest Of(ReadOnlySpan<byte> bytes)
    {
        Span<byte> hash = stackalloc byte[Length];
        SHA256.HashData(bytes, hash);
        return new Digest(hash);
    }

    /// <summary>Writes the 32 bytes to the beginning of the span.</summary>
    public void CopyTo(Span<byte> target) => MemoryMarshal.Write(target, in this);

    public byte[] ToBytes()
    {
        var bytes = new byte[Length];
        CopyTo(bytes);
        return bytes;
    }

    /// <summary>64 lower-case hexadecimal digits.</summary>
    public override string ToString() => Convert.ToHexStringLower(ToBytes());

    /// <summary>Standard base64 with padding (RFC 4648, section 4): 44 characters.</summary>
    public string ToBase64() => Convert.ToBase64String(ToBytes());

    /// <summary>The printable part of the record is the hexadecimal form.</summary>
    private bool PrintMembers(StringBuilder text)
    {
        text.Append(ToString());
        return true;
    }

    /// <summary>Reads exactly 64 lower-case hexadecimal digits.</summary>
    public static bool TryParseHex(string? text, out Digest digest)
    {
        digest = default;
        if (text is not { Length: 2 * Length } || !text.All(char.IsAsciiHexDigitLower)) { return false; }
        digest = new Digest(Convert.FromHexString(text));
        return true;
    }

    /// <summary>Reads exactly the base64 that <see cref="ToBase64"/> writes.</summary>
    public static bool TryParseBase64(string? text, out Digest digest)
    {
        digest = default;
        if (text is null || Base64Text.Read(text) is not { Length: Length } bytes) { return false; }
        digest = new Digest(bytes);
        return true;
    }

    /// <summary>Reads 64 lower-case hexadecimal digits that our own side wrote.</summary>
    public static Digest Parse(string hex) =>
        TryParseHex(hex, out var digest) ? digest : throw new FormatException("Not a digest in hexadecimal.");
}
