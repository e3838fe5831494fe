using System.Diagnostics;

namespace Contracts.Benchmarks;

/// <summary>
/// Requests at a fixed rate, whatever the answers take: each has its moment, and its time counts from that moment on, so that what a slow answer keeps
/// waiting is in the figures as well.
/// </summary>
internal static class PacedLoad
{
    // A request is sent at most so much after its moment; sleeping has no finer grain on most systems.
    private static readonly TimeSpan Grain = TimeSpan.FromMilliseconds(1);

    /// <summary>Half and the 99th percentile of the times in milliseconds.</summary>
    /// <param name="url">What is asked.</param>
    /// <param name="key">The key it is asked with.</param>
    /// <param name="rate">How many a second.</param>
    /// <param name="time">For how long.</param>
    public static async Task<(double Median, double P99)> RunAsync(string url, string key, double rate, TimeSpan time)
    {
        using var client = new HttpClient(new SocketsHttpHandler { MaxConnectionsPerServer = 64 });
        client.DefaultRequestHeaders.Authorization = new("Bearer", key);
        var target = new Uri(url);
        var count = (int)(rate * time.TotalSeconds);
        var times = new double[count];
        var asked = new List<Task>(count);
        var start = Stopwatch.GetTimestamp();
        for (var number = 0; number < count; number++)
        {
            var moment = TimeSpan.FromSeconds(number / rate);
            while (moment - Stopwatch.GetElapsedTime(start) is { } left && left > TimeSpan.Zero)
            {
                if (left > Grain) { await Task.Delay(Grain); }
                else { await Task.Yield(); }
            }

            asked.Add(OneAsync(number, moment));
        }

        await Task.WhenAll(asked);
        Array.Sort(times);
        return (times[count / 2], times[(int)(count * 0.99)]);

        async Task OneAsync(int number, TimeSpan moment)
        {
            using var answer = await client.GetAsync(target);
            answer.EnsureSuccessStatusCode();
            await answer.Content.ReadAsByteArrayAsync();
            times[number] = (Stopwatch.GetElapsedTime(start) - moment).TotalMilliseconds;
        }
    }
}
