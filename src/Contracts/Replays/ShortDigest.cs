using System.Security.Cryptography;

namespace Contracts.Replays;

/// <summary>Text of which only a short digest is kept: the first twelve hexadecimal digits of a SHA-256, enough to see that two texts differ.</summary>
internal static class ShortDigest
{
    /// <summary>Digits of a digest.</summary>
    public const int Length = 12;

    /// <summary>The digest of a text.</summary>
    public static string Of(ReadOnlySpan<byte> text)
    {
        Span<byte> hash = stackalloc byte[SHA256.HashSizeInBytes];
        SHA256.HashData(text, hash);
        return Convert.ToHexStringLower(hash[..(Length / 2)]);
    }

    /// <summary>Writes the digest of a text as ASCII digits.</summary>
    public static void Write(ReadOnlySpan<byte> text, Span<byte> digits)
    {
        Span<byte> hash = stackalloc byte[SHA256.HashSizeInBytes];
        SHA256.HashData(text, hash);
        Convert.TryToHexStringLower(hash[..(Length / 2)], digits, out _);
    }
}
