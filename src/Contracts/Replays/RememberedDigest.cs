namespace Contracts.Replays;

/// <summary>
/// The short digest of a text that is often the one before: what a family owes stays the same through most events, and a digest takes
/// longer than all the rest of a step's words.
/// </summary>
internal sealed class RememberedDigest
{
    private Utf8Text last = new();
    private string digest = "";

    /// <summary>Where the text is to be written.</summary>
    public Utf8Text Text { get; private set; } = new();

    /// <summary>The digest of what was written.</summary>
    public string Of()
    {
        if (digest.Length > 0 && Text.Written.SequenceEqual(last.Written)) { return digest; }
        digest = ShortDigest.Of(Text.Written);
        (last, Text) = (Text, last);
        return digest;
    }
}
