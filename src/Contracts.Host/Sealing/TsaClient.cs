using System.Net.Http.Headers;
using System.Security.Cryptography;
using System.Security.Cryptography.Pkcs;
using System.Text;
using Contracts.Store;
using Contracts.Store.Seals;

namespace Contracts.Host.Sealing;

/// <summary>Asks a time stamping authority (RFC 3161, 3.4). It gets a digest and nothing else.</summary>
internal static class TsaClient
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);

    /// <summary>The request for a head, with a number used once, and the authority's certificate asked for.</summary>
    public static Rfc3161TimestampRequest Ask(StoredCheckpoint head) => Rfc3161TimestampRequest.CreateFromData(
        Encoding.UTF8.GetBytes(head.Note), HashAlgorithmName.SHA256, requestedPolicyId: null, RandomNumberGenerator.GetBytes(8), requestSignerCertificates: true);

    /// <summary>The whole answer, which fits the request; bounded in size and time.</summary>
    public static async Task<byte[]> SendAsync(Uri authority, Rfc3161TimestampRequest request, CancellationToken stop)
    {
        try
        {
            using var client = new HttpClient { Timeout = Patience, MaxResponseContentBufferSize = TimeStampCheck.Largest };
            using var body = new ByteArrayContent(request.Encode());
            body.Headers.ContentType = new MediaTypeHeaderValue("application/timestamp-query");
            using var answer = await client.PostAsync(authority, body, stop).ConfigureAwait(false);
            answer.EnsureSuccessStatusCode();
            var bytes = await answer.Content.ReadAsByteArrayAsync(stop).ConfigureAwait(false);
            // The number used once and the digest must be ours; all else is looked at where the token is kept.
            request.ProcessResponse(bytes, out _);
            return bytes;
        }
        catch (Exception failed) when (failed is HttpRequestException or CryptographicException || (failed is TaskCanceledException && !stop.IsCancellationRequested))
        {
            throw new StoreException($"{authority.Host} gave no time stamp: {failed.Message} What is sealed stays sealed; ask again later.", failed);
        }
    }
}
