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

    /// <summary>Bytes as they are.</summary>
    public Utf8Text Bytes(ReadOnlySpan<byte> ready)
    {
        ready.CopyTo(Room(ready.Length));
        length += ready.Length;
        return this;
    }

    /// <summary>Words as JSON.</summary>
    /// <param name="words">The words.</param>
    /// <param name="encoder">How signs are written that JSON does not take as they are.</param>
    public Utf8Text Json(string words, JavaScriptEncoder encoder) =>
        Sign('"').Words(words.AsSpan().ContainsAnyExcept(Plain) ? encoder.Encode(words) : words).Sign('"');

    /// <summary>Begins a list in JSON. Each member brings the comma after it, which the end of the list takes the place of.</summary>
    public Utf8Text Open() => Sign('[');

    /// <summary>A number as a member of a list in JSON.</summary>
    public Utf8Text Next(long number)
    {
        var room = Room(Digits.Longest + 1);
        var written = Digits.Write(number, room);
        room[written] = (byte)',';
        length += written + 1;
        return this;
    }

    /// <summary>Words as a member of a list in JSON.</summary>
    /// <param name="words">The words.</param>
    /// <param name="encoder">How signs are written that JSON does not take as they are.</param>
    public Utf8Text Next(string words, JavaScriptEncoder encoder) => Json(words, encoder).Sign(',');

    /// <summary>A day as ISO 8601 has it, as a member of a list in JSON.</summary>
    public Utf8Text Next(LocalDate day)
    {
        Sign('"');
        length += Digits.WriteIso(day, Room(Digits.Longest));
        return Sign('"').Sign(',');
    }

    /// <summary>The short digest of a text as a member of a list in JSON.</summary>
    public Utf8Text NextDigestOf(Utf8Text text)
    {
        Sign('"');
        ShortDigest.Write(text.Written, Room(ShortDigest.Length));
        length += ShortDigest.Length;
        return Sign('"').Sign(',');
    }

    /// <summary>Ends a list that is a member of another one.</summary>
    public Utf8Text Close() => End().Sign(',');

    /// <summary>Ends a list that is no member of another one.</summary>
    public Utf8Text End()
    {
        if (bytes[length - 1] != (byte)',') { return Sign(']'); }
        bytes[length - 1] = (byte)']';
        return this;
    }

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
