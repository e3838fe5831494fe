using System.Security.Cryptography;

namespace Contracts.Replays;

/// <summary>Text of which only a short digest is kept.</summary>
internal static class ShortDigest
{
    /// <summary>The first twelve hexadecimal digits of a SHA-256: enough to see that two texts differ.</summary>
    public static string Of(ReadOnlySpan<byte> text)
    {
        Span<byte> hash = stackalloc byte[SHA256.HashSizeInBytes];
        SHA256.HashData(text, hash);
        return Convert.ToHexStringLower(hash[..6]);
    }
}
