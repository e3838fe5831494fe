using System.Collections.Immutable;

namespace Contracts.Replays;

/// <summary>A figure or a sum of postings that parts.</summary>
/// <param name="Figure">Its name; of postings <c>posted:</c> and account and reason.</param>
/// <param name="Theirs">What was recorded.</param>
/// <param name="Ours">What this build says.</param>
/// <param name="By">Ours less theirs, in cents or as a count; null for words.</param>
public sealed record Parting(string Figure, string Theirs, string Ours, long? By);

/// <summary>Where the results of two builds first part on one contract.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Number">The event's place in the stream, from 1; one more than the events for the day of the question.</param>
/// <param name="Sequence">The event's sequence; 0 for the day of the question.</param>
/// <param name="Kind">Its stored name.</param>
/// <param name="On">The day the figures are about.</param>
/// <param name="Figures">What parts there; never empty.</param>
public sealed record FirstDifference(string Contract, int Number, long Sequence, string Kind, string On, ImmutableArray<Parting> Figures)
{
    /// <summary>
    /// Where only words or days part first, such as the order of what is open: the first event after it at which an amount does; null
    /// where one parts at once, or never.
    /// </summary>
    public FirstDifference? Amounts { get; init; }

    /// <summary>The first step at which two results part, or null where none does; figures that only one of them has are not compared.</summary>
    public static FirstDifference? Of(
        string contract, (ImmutableArray<ResultStep> Steps, string? Broken, ResultShape Shape) theirs, (ImmutableArray<ResultStep> Steps, string? Broken, ResultShape Shape) ours)
    {
        for (var index = 0; index < Math.Max(theirs.Steps.Length, ours.Steps.Length); index++)
        {
            if (index >= theirs.Steps.Length || index >= ours.Steps.Length)
            {
                var longer = index < ours.Steps.Length ? ours.Steps[index] : theirs.Steps[index];
                var (was, now) = index < ours.Steps.Length ? (theirs.Broken ?? "no such event", "") : ("", ours.Broken ?? "no such event");
                return new FirstDifference(contract, index + 1, longer.Sequence, longer.Kind, longer.On, [new Parting("history", was, now, null)]);
            }

            var (left, right) = (theirs.Steps[index], ours.Steps[index]);
            var parts = Compare(left, theirs.Shape, right, ours.Shape);
            if (parts.IsEmpty) { continue; }
            var first = new FirstDifference(contract, index + 1, right.Sequence, right.Kind, right.On, parts);
            return parts.Any(one => one.By is not null) ? first : first with { Amounts = AmountsAfter(contract, index, theirs, ours) };
        }

        return theirs.Broken == ours.Broken
            ? null
            : new FirstDifference(contract, ours.Steps.Length + 1, 0, ResultLine.Broken, "", [new Parting("history", theirs.Broken ?? "lived", ours.Broken ?? "lived", null)]);
    }

    private static FirstDifference? AmountsAfter(
        string contract, int first, (ImmutableArray<ResultStep> Steps, string? Broken, ResultShape Shape) theirs,
        (ImmutableArray<ResultStep> Steps, string? Broken, ResultShape Shape) ours)
    {
        for (var index = first + 1; index < Math.Min(theirs.Steps.Length, ours.Steps.Length); index++)
        {
            var (left, right) = (theirs.Steps[index], ours.Steps[index]);
            var parts = Compare(left, theirs.Shape, right, ours.Shape);
            if (parts.Any(one => one.By is not null)) { return new FirstDifference(contract, index + 1, right.Sequence, right.Kind, right.On, parts); }
        }

        return null;
    }

    private static ImmutableArray<Parting> Compare(ResultStep left, ResultShape leftShape, ResultStep right, ResultShape rightShape)
    {
        if (left.Sequence != right.Sequence) { return [new Parting("history", $"event {left.Sequence}", $"event {right.Sequence}", null)]; }
        var parts = ImmutableArray.CreateBuilder<Parting>();
        if (left.On != right.On) { parts.Add(new Parting("on", left.On, right.On, null)); }
        for (var index = 0; index < rightShape.Numbers.Length; index++)
        {
            var name = rightShape.Numbers[index];
            var there = leftShape.Numbers.IndexOf(name);
            if (there < 0 || left.Numbers[there] == right.Numbers[index]) { continue; }
            parts.Add(new Parting(
                name, FigureVector.Words(name, left.Numbers[there]), FigureVector.Words(name, right.Numbers[index]), right.Numbers[index] - left.Numbers[there]));
        }

        for (var index = 0; index < rightShape.Texts.Length; index++)
        {
            var there = leftShape.Texts.IndexOf(rightShape.Texts[index]);
            if (there < 0 || left.Texts[there] == right.Texts[index]) { continue; }
            parts.Add(new Parting(rightShape.Texts[index], left.Texts[there], right.Texts[index], null));
        }

        ComparePostings(left.Posted, right.Posted, parts);
        return parts.ToImmutable();
    }

    private static void ComparePostings(PostedSums left, PostedSums right, ImmutableArray<Parting>.Builder parts)
    {
        if (left.Digest == right.Digest) { return; }
        var was = left.Sums.ToDictionary(sum => (sum.Account, sum.Movement), sum => sum.Cents);
        var now = right.Sums.ToDictionary(sum => (sum.Account, sum.Movement), sum => sum.Cents);
        var before = parts.Count;
        foreach (var key in was.Keys.Union(now.Keys).Order())
        {
            var (there, here) = (was.GetValueOrDefault(key), now.GetValueOrDefault(key));
            if (there == here) { continue; }
            parts.Add(new Parting($"posted:{PostedSums.Words(key.Account, key.Movement)}", new Money(there).ToString(), new Money(here).ToString(), here - there));
        }

        // The same sums on other days, periods or authorities.
        if (parts.Count == before) { parts.Add(new Parting("posted:days", left.Digest, right.Digest, null)); }
    }
}
