using System.Buffers;
using Contracts.Agreements;

namespace Contracts.Commands;

/// <summary>Reads the digest of something that is kept elsewhere.</summary>
internal static class DigestReader
{
    private static readonly SearchValues<char> Hex = SearchValues.Create("0123456789abcdef");

    /// <summary>A SHA-256 as common tools print it.</summary>
    public static string Read(Fields fields)
    {
        var digest = fields.Text("digest");
        return digest.Length == 64 && !digest.AsSpan().ContainsAnyExcept(Hex)
            ? digest
            : throw new Unreadable(RefusalCode.FieldInvalid, "A digest is a SHA-256 in 64 lower-case hex digits.", "digest");
    }
}
