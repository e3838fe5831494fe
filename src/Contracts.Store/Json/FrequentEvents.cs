using System.Text.Json;
using Contracts.Agreements;
using NodaTime;

namespace Contracts.Store.Json;

/// <summary>
/// Reads the two kinds of event that make up most of every portfolio by hand, in a third of the general reader's
/// time. Anything it does not expect it leaves to the general reader, which then decides what is an error.
/// </summary>
internal static class FrequentEvents
{
    public static ContractEvent? TryRead(ReadOnlySpan<byte> name, ReadOnlySpan<byte> json)
    {
        if (name.SequenceEqual("payment_received"u8)) { return Payment(json); }
        return name.SequenceEqual("installment_charged"u8) ? Installment(json) : null;
    }

    private static ContractEvent.PaymentReceived? Payment(ReadOnlySpan<byte> json)
    {
        var reader = new Utf8JsonReader(json);
        LocalDate? on = null;
        Money? amount = null;
        string? method = null, reference = null;
        reader.Read();
        while (reader.Read() && reader.TokenType == JsonTokenType.PropertyName)
        {
            if (reader.ValueTextEquals("on"u8)) { on = Date(ref reader); }
            else if (reader.ValueTextEquals("amount"u8)) { amount = Amount(ref reader); }
            else if (reader.ValueTextEquals("method"u8)) { method = Method(ref reader); }
            else if (reader.ValueTextEquals("reference"u8)) { reference = Text(ref reader); }
            else { return null; }
        }

        return on is { } day && amount is { } money && method is not null
            ? new ContractEvent.PaymentReceived(money, method, reference) { On = day }
            : null;
    }

    private static ContractEvent.InstallmentCharged? Installment(ReadOnlySpan<byte> json)
    {
        var reader = new Utf8JsonReader(json);
        LocalDate? on = null;
        Money? tax = null, rent = null, plan = null;
        reader.Read();
        while (reader.Read() && reader.TokenType == JsonTokenType.PropertyName)
        {
            if (reader.ValueTextEquals("on"u8)) { on = Date(ref reader); }
            else if (reader.ValueTextEquals("tax"u8)) { tax = Amount(ref reader); }
            else if (reader.ValueTextEquals("rent"u8)) { rent = Amount(ref reader); }
            else if (reader.ValueTextEquals("plan"u8)) { plan = Amount(ref reader); }
            else { return null; }
        }

        return on is { } day && tax is { } t && rent is { } r && plan is { } p
            ? new ContractEvent.InstallmentCharged(t, r, p) { On = day }
            : null;
    }

    private static LocalDate? Date(ref Utf8JsonReader reader)
    {
        reader.Read();
        return reader.TokenType == JsonTokenType.String && LocalDateConverter.TryReadPlain(reader.ValueSpan, out var date) ? date : null;
    }

    private static Money? Amount(ref Utf8JsonReader reader)
    {
        reader.Read();
        return reader.TokenType == JsonTokenType.String && MoneyConverter.TryReadPlain(reader.ValueSpan, out var money) ? money : null;
    }

    /// <summary>The few usual words are shared; a portfolio has millions of them.</summary>
    private static string? Method(ref Utf8JsonReader reader)
    {
        reader.Read();
        if (reader.TokenType != JsonTokenType.String) { return null; }
        return reader.ValueTextEquals("card"u8) ? "card"
            : reader.ValueTextEquals("cash"u8) ? "cash"
            : reader.ValueTextEquals("check"u8) ? "check"
            : reader.GetString();
    }

    private static string? Text(ref Utf8JsonReader reader)
    {
        reader.Read();
        return reader.TokenType == JsonTokenType.String ? reader.GetString() : null;
    }
}
