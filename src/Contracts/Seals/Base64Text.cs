namespace Contracts.Seals;

/// <summary>
/// Base64 in one spelling only. The runtime's reader skips white space and loose bits at the end; then two texts
/// would carry one signature, and a changed byte would go unseen.
/// </summary>
internal static class Base64Text
{
    /// <summary>The bytes of standard padded base64 (RFC 4648, section 4), or null.</summary>
    public static byte[]? Read(string text)
    {
        if (text.Length % 4 != 0) { return null; }
        var bytes = new byte[text.Length / 4 * 3];
        return Convert.TryFromBase64String(text, bytes, out var written)
            && string.Equals(Convert.ToBase64String(bytes, 0, written), text, StringComparison.Ordinal)
                ? bytes[..written]
                : null;
    }

    /// <summary>Base64 for URLs and without padding (RFC 4648, section 5; RFC 7515, section 2).</summary>
    public static string WriteUrl(ReadOnlySpan<byte> bytes) => System.Buffers.Text.Base64Url.EncodeToString(bytes);

    /// <summary>The bytes of unpadded base64 for URLs, or null.</summary>
    public static byte[]? ReadUrl(string text)
    {
        // Asked first: the reader throws on a length that no bytes have, whatever its name promises.
        if (!text.All(letter => char.IsAsciiLetterOrDigit(letter) || letter is '-' or '_') || !System.Buffers.Text.Base64Url.IsValid(text)) { return null; }
        var bytes = new byte[text.Length / 4 * 3 + 3];
        return System.Buffers.Text.Base64Url.TryDecodeFromChars(text, bytes, out var written)
            && string.Equals(WriteUrl(bytes.AsSpan(0, written)), text, StringComparison.Ordinal)
                ? bytes[..written]
                : null;
    }
}
