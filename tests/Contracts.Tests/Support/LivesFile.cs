using System.Text.Json.Nodes;
using Contracts.Tests.Reference;

namespace Contracts.Tests.Support;

/// <summary>Many generated lives as one command file: each under names of its own, all in the order of recording.</summary>
public static class LivesFile
{
    /// <summary>The accepted lines of one life under names of its own, so that many lives fit in one store; billing runs are left out.</summary>
    /// <param name="number">The number of the life; its contract is C and the number.</param>
    /// <param name="life">The life.</param>
    public static List<AcceptedCommand> Renamed(int number, Life life)
    {
        var lines = new List<AcceptedCommand>();
        foreach (var (command, at, sequence) in life.Shop.Accepted)
        {
            if ((string)command["do"]! == "bill") { continue; }
            var copy = command.DeepClone().AsObject();
            Prefix(copy, "key", $"{number}-");
            Prefix(copy, "payment", $"{number}-");
            Prefix(copy, "serial", $"{number}-");
            Prefix(copy, "jurisdiction", $"{number}-");
            if (copy["instrument"] is JsonObject instrument) { Prefix(instrument, "serial", $"{number}-"); }
            if (copy["contract"] is not null) { copy["contract"] = $"C-{number}"; }
            if ((string?)copy["fee"] is { } fee && !fee.StartsWith("late:", StringComparison.Ordinal))
            {
                copy["fee"] = fee.Replace(":", $":{number}-", StringComparison.Ordinal);
            }

            lines.Add(new AcceptedCommand(copy, at, sequence));
        }

        return lines;
    }

    /// <summary>The lines of all lives in the order of recording.</summary>
    /// <param name="lives">The lines of each.</param>
    public static IEnumerable<string> Merged(IReadOnlyList<List<AcceptedCommand>> lives) => lives
        .SelectMany((life, index) => life.Select(line => (line, index)))
        .OrderBy(pair => pair.line.RecordedAt).ThenBy(pair => pair.index).ThenBy(pair => pair.line.Sequence)
        .Select(pair => pair.line.Command.ToJsonString());

    private static void Prefix(JsonObject node, string field, string prefix)
    {
        if ((string?)node[field] is { } text) { node[field] = prefix + text; }
    }
}
