using System.Text;

namespace Contracts.Host.Bank;

/// <summary>
/// The characters of a file as UTF-8 and nothing else, and never more of them at once than one line may have: what is read between two resets is
/// bounded, so that a single element as long as the file cannot fill the memory.
/// </summary>
internal sealed class LimitedText(Stream stream, int most) : TextReader
{
    private readonly StreamReader inner = new(stream, new UTF8Encoding(false, throwOnInvalidBytes: true), detectEncodingFromByteOrderMarks: false, bufferSize: 1 << 16);
    private long taken;
    private bool begun;

    /// <summary>A new line or entry begins.</summary>
    public void Reset() => taken = 0;

    public override int Read(char[] buffer, int index, int count)
    {
        var read = Guarded(() => inner.Read(buffer, index, count));
        if (!begun && read > 0)
        {
            begun = true;
            if (buffer[index] == '\uFEFF')
            {
                Array.Copy(buffer, index + 1, buffer, index, --read);
                if (read == 0) { return Read(buffer, index, count); }
            }
        }

        if (Array.IndexOf(buffer, '\0', index, read) >= 0) { throw Wrong("there is a zero character in it, as in text that is not UTF-8"); }
        taken += read;
        return taken <= most ? read : throw MoneyFileException.At(0, "file", $"one line or entry has more than {most} characters.");
    }

    public override int Read(Span<char> buffer)
    {
        var room = new char[buffer.Length];
        var read = Read(room, 0, room.Length);
        room.AsSpan(0, read).CopyTo(buffer);
        return read;
    }

    public override int Read()
    {
        var one = new char[1];
        return Read(one, 0, 1) == 0 ? -1 : one[0];
    }

    public override int Peek() => Guarded(inner.Peek);

    protected override void Dispose(bool disposing)
    {
        if (disposing) { inner.Dispose(); }
        base.Dispose(disposing);
    }

    private static int Guarded(Func<int> read)
    {
        try
        {
            return read();
        }
        catch (DecoderFallbackException fault)
        {
            throw Wrong($"byte {Convert.ToHexStringLower(fault.BytesUnknown ?? [])} is none of UTF-8");
        }
    }

    private static MoneyFileException Wrong(string why) => MoneyFileException.At(0, "encoding", $"The file must be UTF-8: {why}.");
}
