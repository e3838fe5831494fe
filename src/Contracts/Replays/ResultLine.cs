using System.Collections.Immutable;
using System.Text.Encodings.Web;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.History;
using NodaTime;
using NodaTime.Text;

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
/// figures that are other than in the step before. The same rules on the same history write the same bytes.
/// </summary>
public static class ResultLine
{
    /// <summary>The word in the place of an event's kind for the day of the question.</summary>
    public const string Today = "today";

    /// <summary>The word for a contract whose history cannot be lived by these rules.</summary>
    public const string Broken = "broken";

    /// <summary>Bytes that most steps stay within.</summary>
    private const int UsualStep = 384;

    /// <summary>Lives a contract and writes its line, without the line end.</summary>
    /// <param name="json">Where to.</param>
    /// <param name="history">The contract.</param>
    /// <param name="reference">Rates and law packs as they became known.</param>
    /// <param name="today">The day of the last step.</param>
    /// <param name="kindOf">The stored name of an event.</param>
    public static void Write(Utf8JsonWriter json, ContractHistory history, KnownReference reference, LocalDate today, Func<ContractEvent, string> kindOf)
    {
        json.WriteStartObject();
        json.WriteString("contract", history.Contract);
        // Steps are written by hand and go in as one piece: a writer that checks every number would take longer than the fold.
        var steps = new Utf8Text(UsualStep * (history.Entries.Length + 2));
        steps.Open();
        var broken = WriteSteps(steps, json.Options.Encoder ?? JavaScriptEncoder.Default, history, reference, today, kindOf);
        json.WritePropertyName("steps");
        json.WriteRawValue(steps.Close().Written, skipInputValidation: true);
        if (broken is not null) { json.WriteString(Broken, broken); }
        json.WriteEndObject();
    }

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

    private static string? WriteSteps(
        Utf8Text json, JavaScriptEncoder encoder, ContractHistory history, KnownReference reference, LocalDate today, Func<ContractEvent, string> kindOf)
    {
        var (was, now) = (new long[FigureVector.Numbers.Length], new long[FigureVector.Numbers.Length]);
        var (wasWords, words) = (new string[FigureVector.Texts.Length], new string[FigureVector.Texts.Length]);
        var digested = new Utf8Text();
        Array.Fill(wasWords, "");
        try
        {
            foreach (var step in EventWalk.Of(history, reference, today))
            {
                FigureVector.Read(step.Figures, now);
                FigureVector.Read(step.Figures, words, digested);
                var posted = PostedSums.Of(step.Lines, digested);
                var kind = step.Event is { } one ? kindOf(one.Event) : Today;
                json.Open().Next(step.Event?.Sequence ?? 0).Next(kind, encoder).Next(step.Figures is { } figures ? LocalDatePattern.Iso.Format(figures.On) : "", encoder).Open();
                for (var index = 0; index < now.Length; index++)
                {
                    if (now[index] != was[index]) { json.Next(index).Next(now[index]); }
                }

                for (var index = 0; index < words.Length; index++)
                {
                    if (words[index] != wasWords[index]) { json.Next(now.Length + index).Next(words[index], encoder); }
                }

                json.Close().Next(posted.Digest, encoder).Open();
                foreach (var (account, movement, cents) in posted.Sums) { json.Next(account).Next(movement).Next(cents); }
                json.Close().Close();
                (was, now, wasWords, words) = (now, was, words, wasWords);
            }

            return null;
        }
        catch (Exception damage) when (damage is not (OperationCanceledException or OutOfMemoryException))
        {
            // A build that breaks off on a history is a difference of its own, and the other contracts are still to be told.
            return damage.Message;
        }
    }
}

/// <summary>Which figures a results file has, in their order.</summary>
public sealed record ResultShape(ImmutableArray<string> Numbers, ImmutableArray<string> Texts)
{
    /// <summary>Those of this build.</summary>
    public static ResultShape Ours { get; } = new(FigureVector.Numbers, FigureVector.Texts);
}
