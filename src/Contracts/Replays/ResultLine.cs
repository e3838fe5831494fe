using System.Collections.Immutable;
using System.Text.Json;

namespace Contracts.Replays;

/// <summary>One step of a recorded result: the event, the day of its figures, the figures, and what it added to the books.</summary>
/// <param name="Sequence">The event's sequence; 0 for the day of the question.</param>
/// <param name="Kind">The name under which the event is stored; <c>today</c> for the day of the question.</param>
/// <param name="On">The day the figures are about, ISO; empty where nothing was signed.</param>
/// <param name="Numbers">In the order of the file's header.</param>
/// <param name="Texts">In the order of the file's header.</param>
/// <param name="Posted">The postings.</param>
public sealed record ResultStep(long Sequence, string Kind, string On, ImmutableArray<long> Numbers, ImmutableArray<string> Texts, PostedSums Posted);

/// <summary>
/// One contract's results as one line of a results file (docs/replay.md): compact JSON in which a step has only the
/// figures that are other than in the step before. The same rules on the same history write the same bytes (<see cref="ResultWriter"/>).
/// </summary>
public static class ResultLine
{
    /// <summary>The word in the place of an event's kind for the day of the question.</summary>
    public const string Today = "today";

    /// <summary>The word for a contract whose history cannot be lived by these rules.</summary>
    public const string Broken = "broken";

    /// <summary>Reads a line as its header names the figures; a figure this build does not have is left out, one the file does not have is null.</summary>
    /// <exception cref="FormatException">It is no line of a results file.</exception>
    public static (string Contract, ImmutableArray<ResultStep> Steps, string? Broken) Read(ReadOnlyMemory<byte> line, ResultShape shape)
    {
        try
        {
            using var json = JsonDocument.Parse(line);
            var root = json.RootElement;
            var steps = ImmutableArray.CreateBuilder<ResultStep>();
            var numbers = new long[shape.Numbers.Length];
            var texts = new string[shape.Texts.Length];
            Array.Fill(texts, "");
            foreach (var step in root.GetProperty("steps").EnumerateArray())
            {
                var figures = step[3];
                for (var at = 0; at < figures.GetArrayLength(); at += 2)
                {
                    var index = figures[at].GetInt32();
                    if (index < numbers.Length) { numbers[index] = figures[at + 1].GetInt64(); }
                    else { texts[index - numbers.Length] = figures[at + 1].GetString() ?? ""; }
                }

                steps.Add(new ResultStep(
                    step[0].GetInt64(), step[1].GetString() ?? "", step[2].GetString() ?? "", [.. numbers], [.. texts], Posted(step)));
            }

            return (root.GetProperty("contract").GetString() ?? "", steps.ToImmutable(), root.TryGetProperty(Broken, out var broken) ? broken.GetString() : null);
        }
        catch (Exception wrong) when (wrong is JsonException or InvalidOperationException or KeyNotFoundException or IndexOutOfRangeException)
        {
            throw new FormatException($"Not a line of a results file: {wrong.Message}", wrong);
        }
    }

    private static PostedSums Posted(JsonElement step)
    {
        var sums = ImmutableArray.CreateBuilder<(int, int, long)>();
        var list = step[5];
        for (var at = 0; at < list.GetArrayLength(); at += 3) { sums.Add((list[at].GetInt32(), list[at + 1].GetInt32(), list[at + 2].GetInt64())); }
        return new PostedSums(step[4].GetString() ?? "", sums.ToImmutable());
    }
}

/// <summary>Which figures a results file has, in their order.</summary>
public sealed record ResultShape(ImmutableArray<string> Numbers, ImmutableArray<string> Texts)
{
    /// <summary>Those of this build.</summary>
    public static ResultShape Ours { get; } = new(FigureVector.Numbers, FigureVector.Texts);
}
