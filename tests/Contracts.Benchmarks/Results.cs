using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;

namespace Contracts.Benchmarks;

/// <summary>A figure beside its floor or peer, and the goal it was given beforehand.</summary>
/// <param name="Work">What was measured.</param>
/// <param name="Against">The floor or the peer.</param>
/// <param name="Ours">Our median.</param>
/// <param name="Theirs">Their median.</param>
/// <param name="Unit">What both count.</param>
/// <param name="Ratio">The ratio as the goal reads it.</param>
/// <param name="Goal">The goal, in words.</param>
internal sealed record Result(string Work, string Against, double Ours, double Theirs, string Unit, double Ratio, string Goal);

/// <summary>Says each figure as it comes and keeps all of them for the page on performance.</summary>
internal sealed class Results(int size, int runs)
{
    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web) { WriteIndented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private readonly List<Result> results = [];
    private readonly SortedDictionary<string, double> facts = new(StringComparer.Ordinal);

    /// <summary>A ratio where less is better: our time over the floor's.</summary>
    public void AtMost(string work, string against, double ours, double theirs, double goal) => Add(new Result(
        work, against, ours, theirs, "ms", ours / theirs, goal > 0 ? string.Create(CultureInfo.InvariantCulture, $"at most {goal}") : ""));

    /// <summary>A ratio where more is better: how many times faster than the peer.</summary>
    public void Faster(string work, string against, double ours, double theirs, double goal) => Add(new Result(
        work, against, ours, theirs, "ms", theirs / ours, string.Create(CultureInfo.InvariantCulture, $"at least {goal} x faster")));

    /// <summary>A figure that explains others and has no goal.</summary>
    public void Fact(string name, double value)
    {
        facts[name] = value;
        Console.WriteLine($"  {name}: {value:N2}");
    }

    public async Task<string> WriteAsync(string path)
    {
        var whole = Path.GetFullPath(path);
        Directory.CreateDirectory(Path.GetDirectoryName(whole)!);
        await File.WriteAllTextAsync(whole, JsonSerializer.Serialize(
            new { size, runs, cores = Environment.ProcessorCount, runtime = Environment.Version.ToString(), results, facts }, Form));
        return whole;
    }

    private void Add(Result result)
    {
        results.Add(result);
        var goal = result.Goal.Length > 0 ? $" (goal: {result.Goal})" : "";
        Console.WriteLine($"{result.Work}: {result.Ours:N2} {result.Unit}; {result.Against}: {result.Theirs:N2} {result.Unit}; ratio {result.Ratio:N2}{goal}");
    }
}

/// <summary>Medians of an odd number of runs.</summary>
internal static class Median
{
    public static double Of(IEnumerable<double> values)
    {
        var sorted = values.Order().ToArray();
        return sorted[sorted.Length / 2];
    }

    /// <summary>The median time of some work in milliseconds.</summary>
    public static async Task<double> OfAsync(int runs, Func<Task> work)
    {
        var times = new double[runs];
        for (var run = 0; run < runs; run++)
        {
            var clock = System.Diagnostics.Stopwatch.StartNew();
            await work();
            times[run] = clock.Elapsed.TotalMilliseconds;
        }

        return Of(times);
    }
}
