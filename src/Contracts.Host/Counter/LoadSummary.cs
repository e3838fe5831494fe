using Contracts.Agreements;

namespace Contracts.Host.Counter;

/// <summary>A line that was not applied, and why.</summary>
public sealed record RefusedLine(string File, long Line, Refusal Refusal);

/// <summary>What a load did. Every line is counted once.</summary>
public sealed class LoadSummary
{
    public int Applied { get; internal set; }

    public int Already { get; internal set; }

    /// <summary>The refused lines, up to <see cref="MostListed"/>: a gigabyte of nonsense must not fill the memory.</summary>
    public IReadOnlyList<RefusedLine> Refused => refused;

    /// <summary>Refused lines beyond those that are listed.</summary>
    public long NotListed { get; private set; }

    public const int MostListed = 10_000;

    private readonly List<RefusedLine> refused = [];

    internal void Refuse(RefusedLine line)
    {
        if (refused.Count < MostListed) { refused.Add(line); }
        else { NotListed++; }
    }
}
