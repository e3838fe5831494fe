using System.Diagnostics;

namespace Contracts.Agreements;

/// <summary>The papers a family can get.</summary>
public enum PaperKind
{
    /// <summary>The rental agreement with its disclosure sheet, on a signing.</summary>
    Agreement,

    /// <summary>The receipt of a payment.</summary>
    Receipt,

    /// <summary>The statement of an account on a day.</summary>
    Statement,

    /// <summary>What it costs to own the instrument on a day.</summary>
    EarlyPurchase,

    /// <summary>The confirmation of an exchange.</summary>
    Exchange,

    /// <summary>The confirmation of a return.</summary>
    Return,

    /// <summary>What is past due, and how the contract can go on.</summary>
    DefaultNotice,

    /// <summary>That ownership has passed.</summary>
    BillOfSale,

    /// <summary>That one payment is left.</summary>
    FinalPayment,

    /// <summary>What the shop answers to a dispute, with what was said and what is so.</summary>
    DisputeAnswer,
}

/// <summary>The words that commands and stored events use for papers. Stored for ever.</summary>
public static class PaperKinds
{
    /// <summary>Every word, in the order of the kinds.</summary>
    public static string[] Words => [.. Enum.GetValues<PaperKind>().Select(Word)];

    /// <summary>The word of a kind, such as <c>receipt</c>.</summary>
    public static string Word(this PaperKind kind) => kind switch
    {
        PaperKind.Agreement => "agreement",
        PaperKind.Receipt => "receipt",
        PaperKind.Statement => "statement",
        PaperKind.EarlyPurchase => "early-purchase",
        PaperKind.Exchange => "exchange",
        PaperKind.Return => "return",
        PaperKind.DefaultNotice => "default-notice",
        PaperKind.BillOfSale => "bill-of-sale",
        PaperKind.FinalPayment => "final-payment",
        PaperKind.DisputeAnswer => "dispute-answer",
        _ => throw new UnreachableException($"No word for {kind}."),
    };

    /// <summary>The kind of a word, or null where there is none of that word.</summary>
    public static PaperKind? Read(string word)
    {
        foreach (var kind in Enum.GetValues<PaperKind>())
        {
            if (kind.Word() == word) { return kind; }
        }

        return null;
    }

    /// <summary>
    /// Whether a fact can be what a paper of the kind is about. Such a paper shows the account on the fact's own day, as it
    /// was known right after the fact was recorded; every other kind shows it on a day of choice, as known when issued.
    /// </summary>
    public static bool IsAbout(this PaperKind kind, ContractEvent fact) => (kind, fact) switch
    {
        (PaperKind.Agreement, ContractEvent.Signed) => true,
        (PaperKind.Receipt, ContractEvent.PaymentReceived or ContractEvent.BoughtEarly) => true,
        (PaperKind.Exchange, ContractEvent.InstrumentExchanged) => true,
        (PaperKind.Return, ContractEvent.Returned) => true,
        (PaperKind.DisputeAnswer, ContractEvent.DisputeAnswered) => true,
        _ => false,
    };

    /// <summary>Whether a paper of the kind is about one fact.</summary>
    public static bool NeedsFact(this PaperKind kind) => 
        kind is PaperKind.Agreement or PaperKind.Receipt or PaperKind.Exchange or PaperKind.Return or PaperKind.DisputeAnswer;
}
