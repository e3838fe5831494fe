using System.Buffers;
using System.Text;
using System.Text.Encodings.Web;
using NodaTime;

namespace Contracts.Replays;

/// <summary>Text put together as UTF-8 in memory that is used again: millions of steps are written so, and most are only compared.</summary>
internal sealed class Utf8Text
{
    /// <summary>What every JSON encoder leaves as it is.</summary>
    private static readonly SearchValues<char> Plain = SearchValues.Create(" -./0123456789:ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz");

    private byte[] bytes;
    private int length;

    /// <summary>Room for a first text; it grows where that is not enough.</summary>
    public Utf8Text(int room = 1024) => bytes = GC.AllocateUninitializedArray<byte>(room);

    /// <summary>What was written; good until something else is.</summary>
    public ReadOnlySpan<byte> Written => bytes.AsSpan(0, length);

    /// <summary>Begins anew.</summary>
    public Utf8Text Clear()
    {
        length = 0;
        return this;
    }

    /// <summary>A number in decimal digits.</summary>
    public Utf8Text Number(long number)
    {
        length += Digits.Write(number, Room(Digits.Longest));
        return this;
    }

    /// <summary>A day as a number of eight digits.</summary>
    public Utf8Text Day(LocalDate day) => Number((day.Year * 10000) + (day.Month * 100) + day.Day);

    /// <summary>A day as ISO 8601 has it, as a member of a list in JSON.</summary>
    public Utf8Text Next(LocalDate day)
    {
        Comma().Sign('"');
        length += Digits.WriteIso(day, Room(Digits.Longest));
        return Sign('"');
    }

    /// <summary>Words as they are.</summary>
    public Utf8Text Words(string words)
    {
        if (words.Length > 0) { length += Encoding.UTF8.GetBytes(words, Room(Encoding.UTF8.GetMaxByteCount(words.Length))); }
        return this;
    }

    /// <summary>One ASCII sign.</summary>
    public Utf8Text Sign(char sign)
    {
        Room(1)[0] = (byte)sign;
        length++;
        return this;
    }

    /// <summary>A number as a member of a list in JSON.</summary>
    public Utf8Text Next(long number)
    {
        var room = Room(1 + Digits.Longest);
        var comma = IsFirst ? 0 : 1;
        if (comma == 1) { room[0] = (byte)','; }
        length += comma + Digits.Write(number, room[comma..]);
        return this;
    }

    /// <summary>The short digest of a text as a member of a list in JSON.</summary>
    public Utf8Text NextDigestOf(Utf8Text text)
    {
        Comma().Sign('"');
        ShortDigest.Write(text.Written, Room(ShortDigest.Length));
        length += ShortDigest.Length;
        return Sign('"');
    }

    /// <summary>Bytes as they are.</summary>
    public Utf8Text Bytes(ReadOnlySpan<byte> ready)
    {
        ready.CopyTo(Room(ready.Length));
        length += ready.Length;
        return this;
    }

    /// <summary>Words as a member of a list in JSON.</summary>
    /// <param name="words">The words.</param>
    /// <param name="encoder">How signs are written that JSON does not take as they are.</param>
    public Utf8Text Next(string words, JavaScriptEncoder encoder) =>
        Comma().Sign('"').Words(words.AsSpan().ContainsAnyExcept(Plain) ? encoder.Encode(words) : words).Sign('"');

    /// <summary>Begins a list as a member of a list in JSON, or the first of all.</summary>
    public Utf8Text Open() => Comma().Sign('[');

    /// <summary>Ends a list.</summary>
    public Utf8Text Close() => Sign(']');

    private bool IsFirst => length == 0 || bytes[length - 1] is (byte)'[' or (byte)':';

    private Utf8Text Comma() => IsFirst ? this : Sign(',');

    private Span<byte> Room(int more)
    {
        if (bytes.Length - length < more) { Grow(more); }
        return bytes.AsSpan(length);
    }

    private void Grow(int more)
    {
        var longer = GC.AllocateUninitializedArray<byte>(Math.Max(2 * bytes.Length, length + more));
        Written.CopyTo(longer);
        bytes = longer;
    }
}
