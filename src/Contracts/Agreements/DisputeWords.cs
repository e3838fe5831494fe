namespace Contracts.Agreements;

/// <summary>The words that commands and stored events use for disputes. Stored for ever.</summary>
public static class DisputeWords
{
    /// <summary>A dispute that the family took back needs no answer.</summary>
    public const string Withdrawn = "withdrawn";

    /// <summary>What a family may say is wrong: a figure, a payment, a charge, an instrument, a paper, or something else.</summary>
    public static string[] Claims => ["figure", "payment", "charge", "instrument", "paper", "other"];

    /// <summary>What a shop may find.</summary>
    public static string[] Findings => ["upheld", "partly-upheld", "not-upheld"];

    /// <summary>How a dispute may end: both agree, the family takes it back, or it goes on elsewhere.</summary>
    public static string[] Outcomes => ["settled", Withdrawn, "not-agreed"];
}
