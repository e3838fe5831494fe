using System.Threading.Channels;
using Contracts.Agreements;
using Contracts.Commands;

namespace Contracts.Host.Counter;

/// <summary>A line of a command file: its number, and the command it is or the refusal it gets.</summary>
public readonly record struct ParsedLine(long Number, ReadCommand? Command, Refusal? Refusal);

/// <summary>Reads and parses ahead of the store, a batch and a little more, so that neither waits for the other.</summary>
public static class ParsedLines
{
    private const int ChunkSize = 500;
    private const int ChunksAhead = 12;

    public static async IAsyncEnumerable<ParsedLine> ReadAsync(
        Stream file, [System.Runtime.CompilerServices.EnumeratorCancellation] CancellationToken stop)
    {
        using var ending = CancellationTokenSource.CreateLinkedTokenSource(stop);
        var chunks = Channel.CreateBounded<List<ParsedLine>>(ChunksAhead);
        var reading = Task.Run(() => FillAsync(file, chunks.Writer, ending.Token), CancellationToken.None);
        try
        {
            await foreach (var chunk in chunks.Reader.ReadAllAsync(stop))
            {
                foreach (var line in chunk) { yield return line; }
            }
        }
        finally
        {
            await ending.CancelAsync();
            await reading;
        }
    }

    private static async Task FillAsync(Stream file, ChannelWriter<List<ParsedLine>> chunks, CancellationToken stop)
    {
        Exception? fault = null;
        try
        {
            var chunk = new List<ParsedLine>(ChunkSize);
            await foreach (var (number, line) in CommandLines.ReadAsync(file, stop))
            {
                var (command, refusal) = CommandReader.Read(line);
                chunk.Add(new ParsedLine(number, command, refusal));
                if (chunk.Count < ChunkSize) { continue; }
                await chunks.WriteAsync(chunk, stop);
                chunk = new List<ParsedLine>(ChunkSize);
            }

            await chunks.WriteAsync(chunk, stop);
        }
        catch (OperationCanceledException)
        {
            // The reader of the lines has gone; there is nobody to tell.
        }
        catch (IOException broken)
        {
            fault = broken;
        }

        chunks.Complete(fault);
    }
}
