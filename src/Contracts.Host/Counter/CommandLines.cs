using System.Buffers;
using System.IO.Pipelines;
using Contracts.Commands;

namespace Contracts.Host.Counter;

/// <summary>The lines of a file as bytes, with memory flat whatever the file: a line too long is cut, and said so.</summary>
public static class CommandLines
{
    /// <summary>Each non-blank line with its number; a line over the limit comes as its first bytes, still too long to be read.</summary>
    public static async IAsyncEnumerable<(long Number, byte[] Line)> ReadAsync(
        Stream file, [System.Runtime.CompilerServices.EnumeratorCancellation] CancellationToken stop)
    {
        var reader = PipeReader.Create(file, new StreamPipeReaderOptions(bufferSize: 1 << 16));
        var number = 0L;
        var cut = new ArrayBufferWriter<byte>();
        while (true)
        {
            var read = await reader.ReadAsync(stop).ConfigureAwait(false);
            var rest = read.Buffer;
            while (rest.PositionOf((byte)'\n') is { } end)
            {
                Keep(cut, rest.Slice(0, end));
                rest = rest.Slice(rest.GetPosition(1, end));
                number++;
                if (Take(cut, number == 1) is { } line) { yield return (number, line); }
            }

            // What has no end yet is kept aside, up to one byte more than a line may have.
            Keep(cut, rest);
            reader.AdvanceTo(read.Buffer.End);
            if (read.IsCompleted) { break; }
        }

        if (Take(cut, number == 0) is { } last) { yield return (number + 1, last); }
        await reader.CompleteAsync().ConfigureAwait(false);
    }

    private static void Keep(ArrayBufferWriter<byte> cut, in ReadOnlySequence<byte> bytes)
    {
        var room = CommandReader.LongestLine + 1 - cut.WrittenCount;
        if (room <= 0) { return; }
        foreach (var segment in bytes.Slice(0, Math.Min(room, bytes.Length))) { cut.Write(segment.Span); }
    }

    private static byte[]? Take(ArrayBufferWriter<byte> cut, bool isFirst)
    {
        var line = cut.WrittenSpan;
        if (isFirst && line.StartsWith("\uFEFF"u8)) { line = line[3..]; }
        line = line.Trim(" \t\r"u8);
        var taken = line.IsEmpty ? null : line.ToArray();
        cut.ResetWrittenCount();
        return taken;
    }
}
