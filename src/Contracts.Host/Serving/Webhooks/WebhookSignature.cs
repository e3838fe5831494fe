using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Contracts.Store.Webhooks;

namespace Contracts.Host.Serving.Webhooks;

/// <summary>The signature of a message as Standard Webhooks asks for it: HMAC-SHA256 over id, timestamp and body.</summary>
public static class WebhookSignature
{
    /// <summary>The header of the message's id.</summary>
    public const string IdHeader = "webhook-id";

    /// <summary>The header of the moment it was sent.</summary>
    public const string TimestampHeader = "webhook-timestamp";

    /// <summary>The header of the signature.</summary>
    public const string Header = "webhook-signature";

    /// <summary>Signs a message.</summary>
    /// <param name="secret">The secret as it was shown, prefix and all.</param>
    /// <param name="id">The message's id, the same each time it is sent.</param>
    /// <param name="seconds">When it is sent, in seconds of Unix time.</param>
    /// <param name="body">The body, byte for byte.</param>
    public static string Of(string secret, string id, long seconds, ReadOnlySpan<byte> body)
    {
        var head = Encoding.UTF8.GetBytes(string.Create(CultureInfo.InvariantCulture, $"{id}.{seconds}."));
        using var hmac = IncrementalHash.CreateHMAC(HashAlgorithmName.SHA256, Convert.FromBase64String(secret[WebhookBook.SecretPrefix.Length..]));
        hmac.AppendData(head);
        hmac.AppendData(body);
        return "v1," + Convert.ToBase64String(hmac.GetHashAndReset());
    }
}
