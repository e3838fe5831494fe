namespace Contracts.Host.Serving.Api;

/// <summary>What the API document says of parameters that many routes have.</summary>
internal static class Words
{
    public const string Contract = "The contract's id, such as C-1042.";
    public const string On = "The day the figures are about, such as 2026-12-31; today when left out.";
    public const string Known = "What we look at: recorded up to an instant, or a day for its end; or sealed under a checkpoint, size:N or root:HASH. Now when left out.";
    public const string KnownMoment = "Up to which moment we look at what was recorded: an instant, or a day for its end; now when left out.";
    public const string Purpose = "Why this is read; written down with the reader's name before the answer. \"not said\" when left out.";
}
