namespace Contracts.Host.Serving.Webhooks;

/// <summary>When something that was not taken is sent again, and when no more.</summary>
internal static class Retries
{
    /// <summary>How many attempts in a row may fail; with the waits between them that is fifteen to thirty hours.</summary>
    public const int Most = 16;

    private const double First = 10;
    private const double Longest = 6 * 3600;

    /// <summary>The wait after an attempt that failed: twice as long each time, less up to a half of it, so that many do not come back at one moment.</summary>
    /// <param name="failed">How many have failed in a row, from 1.</param>
    /// <param name="chance">From 0 to 1.</param>
    public static TimeSpan After(int failed, double chance) =>
        TimeSpan.FromSeconds(Math.Min(Longest, First * Math.Pow(2, failed - 1)) * (1 - (chance / 2)));
}
