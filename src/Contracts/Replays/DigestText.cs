using System.Buffers;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using NodaTime;

namespace Contracts.Replays;

/// <summary>Text of which only a short digest is kept; put together as UTF-8, because millions of them are made.</summary>
internal sealed class DigestText
{
    private const int Longest = 24;

    private readonly ArrayBufferWriter<byte> bytes = new(512);

    /// <summary>A number in decimal digits.</summary>
    public DigestText Number(long number)
    {
        number.TryFormat(bytes.GetSpan(Longest), out var written, default, CultureInfo.InvariantCulture);
        bytes.Advance(written);
        return this;
    }

    /// <summary>A day as a number of eight digits.</summary>
    public DigestText Day(LocalDate day) => Number((day.Year * 10000) + (day.Month * 100) + day.Day);

    /// <summary>Words as they are.</summary>
    public DigestText Words(string words)
    {
        bytes.Advance(Encoding.UTF8.GetBytes(words, bytes.GetSpan(Encoding.UTF8.GetMaxByteCount(words.Length))));
        return this;
    }

    /// <summary>One ASCII sign.</summary>
    public DigestText Sign(char sign)
    {
        bytes.GetSpan(1)[0] = (byte)sign;
        bytes.Advance(1);
        return this;
    }

    /// <summary>The first twelve hexadecimal digits of a SHA-256: enough to see that two texts differ.</summary>
    public string Short()
    {
        Span<byte> hash = stackalloc byte[SHA256.HashSizeInBytes];
        SHA256.HashData(bytes.WrittenSpan, hash);
        return Convert.ToHexStringLower(hash[..6]);
    }
}
