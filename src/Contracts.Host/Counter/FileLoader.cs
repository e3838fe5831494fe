using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Counter;

/// <summary>
/// Applies a command file in batches. A refused line changes nothing and the rest goes on; a batch is one
/// transaction, so a crash leaves whole batches, and loading the same file again finishes the work.
/// </summary>
public sealed class FileLoader(CommandBus bus, bool stopOnRefusal, Progress progress)
{
    private const int BatchSize = 5000;

    private readonly List<(long Line, CommandRequest Request)> batch = new(BatchSize);
    private string file = "";

    public LoadSummary Summary { get; } = new();

    /// <summary>Loads one file; answers false when a refusal stopped it.</summary>
    public async Task<bool> LoadAsync(string path, CancellationToken stop)
    {
        await using var stream = path == "-" ? Console.OpenStandardInput() : File.OpenRead(path);
        return await LoadAsync(path, stream, stop).ConfigureAwait(false);
    }

    /// <summary>Loads the lines of a stream under a name for its answers.</summary>
    public async Task<bool> LoadAsync(string name, Stream lines, CancellationToken stop)
    {
        file = name;
        await foreach (var line in ParsedLines.ReadAsync(lines, stop).ConfigureAwait(false))
        {
            if (!await TakeAsync(line, stop).ConfigureAwait(false)) { return false; }
        }

        return await FlushAsync(stop).ConfigureAwait(false);
    }

    private async Task<bool> TakeAsync(ParsedLine line, CancellationToken stop)
    {
        var (number, read, refusal) = line;
        if (read is null)
        {
            // Lines are answered in order, so what came before is applied first.
            return await FlushAsync(stop).ConfigureAwait(false) && Refuse(number, refusal!);
        }

        if (ReservedKeys.Fault(read.Command.Origin.Key) is { } reserved)
        {
            return await FlushAsync(stop).ConfigureAwait(false) && Refuse(number, reserved);
        }

        if (read.Command is Command.Bill or Command.Close)
        {
            if (!await FlushAsync(stop).ConfigureAwait(false)) { return false; }
            return Count(number, await bus.RunAsync(new CommandRequest(read.Command, read.At), stop).ConfigureAwait(false));
        }

        batch.Add((number, new CommandRequest(read.Command, read.At)));
        var full = batch.Count >= (stopOnRefusal ? 1 : BatchSize);
        return !full || await FlushAsync(stop).ConfigureAwait(false);
    }

    private async Task<bool> FlushAsync(CancellationToken stop)
    {
        if (batch.Count == 0) { return true; }
        var results = await bus.ApplyAsync([.. batch.Select(item => item.Request)], stop).ConfigureAwait(false);
        var goOn = true;
        for (var index = 0; index < results.Count; index++) { goOn &= Count(batch[index].Line, results[index]); }
        progress.Add(batch.Count, "lines applied");
        batch.Clear();
        return goOn;
    }

    private bool Count(long line, CommandResult result)
    {
        switch (result)
        {
            case CommandResult.Applied: Summary.Applied++; return true;
            case CommandResult.Already: Summary.Already++; return true;
            case CommandResult.Refused refused: return Refuse(line, refused.Refusal);
            default: throw new System.Diagnostics.UnreachableException($"No count for {result.GetType().Name}.");
        }
    }

    private bool Refuse(long line, Refusal refusal)
    {
        Summary.Refuse(new RefusedLine(file, line, refusal));
        return !stopOnRefusal;
    }
}
