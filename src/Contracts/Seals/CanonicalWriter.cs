using System.Globalization;
using System.Text;

namespace Contracts.Seals;

/// <summary>A growing run of canonical JSON: strings escaped as RFC 8785, section 3.2.2.2, says, all else as given.</summary>
internal sealed class CanonicalWriter(int expected)
{
    private static readonly System.Buffers.SearchValues<byte> Escaped = System.Buffers.SearchValues.Create(
        [.. Enumerable.Range(0, 0x20).Select(value => (byte)value), (byte)'"', (byte)'\\']);

    private static readonly System.Buffers.SearchValues<char> Plain = System.Buffers.SearchValues.Create(
        [.. Enumerable.Range(0x20, 0x5F).Select(value => (char)value).Where(letter => letter is not '"' and not '\\')]);

    private byte[] bytes = new byte[Math.Max(expected, 64)];

    public int Length { get; private set; }

    public void Raw(byte value)
    {
        Room(1);
        bytes[Length++] = value;
    }

    public void Raw(ReadOnlySpan<byte> values)
    {
        Room(values.Length);
        values.CopyTo(bytes.AsSpan(Length));
        Length += values.Length;
    }

    /// <summary>A string in quotes, with the escapes that are needed and no others.</summary>
    public void Text(ReadOnlySpan<byte> utf8)
    {
        Raw((byte)'"');
        for (var next = utf8.IndexOfAny(Escaped); next >= 0; next = utf8.IndexOfAny(Escaped))
        {
            Raw(utf8[..next]);
            Escape(utf8[next]);
            utf8 = utf8[(next + 1)..];
        }

        Raw(utf8);
        Raw((byte)'"');
    }

    /// <summary>A string in quotes; half of a surrogate pair is a mistake of the caller and throws.</summary>
    public void Text(string text)
    {
        // Nearly everything in an entry is plain ASCII, which is its own UTF-8.
        if (text.AsSpan().IndexOfAnyExcept(Plain) >= 0)
        {
            Text(StrictUtf8.Bytes(text));
            return;
        }

        Room(text.Length + 2);
        bytes[Length] = (byte)'"';
        System.Text.Ascii.FromUtf16(text, bytes.AsSpan(Length + 1), out var written);
        bytes[Length + written + 1] = (byte)'"';
        Length += written + 2;
    }

    /// <summary>A digest in quotes, as 64 lower-case hexadecimal digits.</summary>
    public void Hash(Digest value)
    {
        Span<byte> raw = stackalloc byte[Digest.Length];
        value.CopyTo(raw);
        Room((2 * Digest.Length) + 2);
        bytes[Length] = (byte)'"';
        Convert.TryToHexStringLower(raw, bytes.AsSpan(Length + 1), out var written);
        bytes[Length + written + 1] = (byte)'"';
        Length += written + 2;
    }

    /// <summary>A member whose value is a string, or null; the caller keeps the order of the names.</summary>
    public void Member(string name, string? value)
    {
        Name(name);
        if (value is null) { Raw("null"u8); }
        else { Text(value); }
    }

    /// <summary>A member whose value is a whole number.</summary>
    public void Member(string name, int value)
    {
        Name(name);
        Raw(Encoding.ASCII.GetBytes(value.ToString(CultureInfo.InvariantCulture)));
    }

    /// <summary>The name of a member, behind a comma where one stands before it.</summary>
    public void Name(string name)
    {
        if (Length > 0 && bytes[Length - 1] != (byte)'{') { Raw((byte)','); }
        Text(name);
        Raw((byte)':');
    }

    public ReadOnlySpan<byte> Since(int start) => bytes.AsSpan(start, Length - start);

    public void CutTo(int length) => Length = length;

    public byte[] ToBytes() => bytes.AsSpan(0, Length).ToArray();

    private void Escape(byte value)
    {
        Raw((byte)'\\');
        switch (value)
        {
            case (byte)'"' or (byte)'\\': Raw(value); break;
            case 0x08: Raw((byte)'b'); break;
            case 0x09: Raw((byte)'t'); break;
            case 0x0A: Raw((byte)'n'); break;
            case 0x0C: Raw((byte)'f'); break;
            case 0x0D: Raw((byte)'r'); break;
            default: Raw(Encoding.ASCII.GetBytes($"u00{value:x2}")); break;
        }
    }

    private void Room(int count)
    {
        if (Length + count > bytes.Length) { Array.Resize(ref bytes, Math.Max(Length + count, 2 * bytes.Length)); }
    }
}
