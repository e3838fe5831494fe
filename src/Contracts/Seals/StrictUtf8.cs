using System.Text;

namespace Contracts.Seals;

/// <summary>Text and UTF-8 without replacement characters: what cannot be kept exactly is not kept at all.</summary>
internal static class StrictUtf8
{
    private static readonly UTF8Encoding Strict = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);

    /// <summary>The text in UTF-8; throws where the text has half of a surrogate pair.</summary>
    public static byte[] Bytes(string text) => Strict.GetBytes(text);

    /// <summary>Whether the text has no half of a surrogate pair.</summary>
    public static bool CanKeep(string text)
    {
        for (var at = 0; at < text.Length; at++)
        {
            if (!char.IsSurrogate(text[at])) { continue; }
            if (at + 1 == text.Length || !char.IsSurrogatePair(text[at], text[at + 1])) { return false; }
            at++;
        }

        return true;
    }

    /// <summary>The text of the bytes, or null where they are not UTF-8.</summary>
    public static string? Text(ReadOnlySpan<byte> bytes) =>
        System.Text.Unicode.Utf8.IsValid(bytes) ? Strict.GetString(bytes) : null;
}
