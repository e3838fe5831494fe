using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Sockets;

namespace Contracts.Host.Serving.Webhooks;

/// <summary>What became of a message.</summary>
/// <param name="Taken">Whether it was accepted: an answer of the 200s.</param>
/// <param name="Gone">Whether the receiver wants nothing more, ever (410).</param>
/// <param name="Why">Why it was not taken; nothing of what was answered is in it.</param>
public readonly record struct PostOutcome(bool Taken, bool Gone, string Why);

/// <summary>
/// Sends messages. No redirect is followed, no proxy and no cookie used, an answer's body is not read, and what answers too slowly has not answered.
/// </summary>
public sealed class WebhookPost : IDisposable
{
    private const int LongestHeadersInKilobytes = 16;
    private static readonly TimeSpan Connecting = TimeSpan.FromSeconds(5);

    private readonly HttpClient open;
    private readonly HttpClient closed;

    /// <summary>Makes what sends.</summary>
    /// <param name="patience">How long an answer may take, connecting included.</param>
    public WebhookPost(TimeSpan patience)
    {
        // Two, because what one webhook may connect to is not another's to reach.
        (open, closed) = (Client(patience, allowPrivate: true), Client(patience, allowPrivate: false));
    }

    /// <summary>Sends a message, signed for its moment; nothing but being stopped throws.</summary>
    /// <param name="url">Where to.</param>
    /// <param name="allowPrivate">Whether that may lie in a private network.</param>
    /// <param name="secret">What it is signed with.</param>
    /// <param name="id">The message's id.</param>
    /// <param name="seconds">The moment, in seconds of Unix time.</param>
    /// <param name="body">The event.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<PostOutcome> SendAsync(Uri url, bool allowPrivate, string secret, string id, long seconds, byte[] body, CancellationToken stop)
    {
        var client = allowPrivate ? open : closed;
        using var request = new HttpRequestMessage(HttpMethod.Post, url) { Content = new ByteArrayContent(body) };
        request.Content.Headers.ContentType = new MediaTypeHeaderValue(EventMessage.MediaType, "utf-8");
        request.Headers.Add(WebhookSignature.IdHeader, id);
        request.Headers.Add(WebhookSignature.TimestampHeader, seconds.ToString(CultureInfo.InvariantCulture));
        request.Headers.Add(WebhookSignature.Header, WebhookSignature.Of(secret, id, seconds, body));
        try
        {
            using var answer = await client.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, stop).ConfigureAwait(false);
            var status = (int)answer.StatusCode;
            return answer.IsSuccessStatusCode ? new PostOutcome(true, false, "")
                : answer.StatusCode == HttpStatusCode.Gone ? new PostOutcome(false, true, "answered 410: it wants nothing more")
                : new PostOutcome(false, false, status is >= 300 and < 400 ? $"answered {status}: a redirect is not followed" : $"answered {status}");
        }
        catch (OperationCanceledException) when (!stop.IsCancellationRequested)
        {
            return new PostOutcome(false, false, $"no answer within {client.Timeout.TotalSeconds:0.#} seconds");
        }
        catch (HttpRequestException failed)
        {
            return new PostOutcome(false, false, Words(failed));
        }
    }

    /// <summary>Closes its connections.</summary>
    public void Dispose()
    {
        open.Dispose();
        closed.Dispose();
    }

    private static HttpClient Client(TimeSpan patience, bool allowPrivate)
    {
        var handler = new SocketsHttpHandler
        {
            AllowAutoRedirect = false, UseCookies = false, UseProxy = false, ConnectTimeout = Connecting,
            // A connection for each message: its address is looked at each time, and none is found closed by the other side half way.
            PooledConnectionLifetime = TimeSpan.Zero,
            MaxResponseHeadersLength = LongestHeadersInKilobytes, MaxResponseDrainSize = 0, ResponseDrainTimeout = TimeSpan.Zero,
            // What is traced here is nobody's business there.
            ActivityHeadersPropagator = null,
            ConnectCallback = async (context, stop) => await ConnectAsync(context.DnsEndPoint, allowPrivate, stop).ConfigureAwait(false),
        };
        var client = new HttpClient(handler) { Timeout = patience };
        client.DefaultRequestHeaders.UserAgent.Add(new ProductInfoHeaderValue("contracts", typeof(WebhookPost).Assembly.GetName().Version?.ToString(3)));
        return client;
    }

    private static async Task<Stream> ConnectAsync(DnsEndPoint to, bool allowPrivate, CancellationToken stop)
    {
        var addresses = await Destinations.ResolveAsync(to.Host, allowPrivate, stop).ConfigureAwait(false);
        var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
        try
        {
            await socket.ConnectAsync([.. addresses], to.Port, stop).ConfigureAwait(false);
            return new NetworkStream(socket, ownsSocket: true);
        }
        catch
        {
            socket.Dispose();
            throw;
        }
    }

    private static string Words(HttpRequestException failed) => failed.InnerException switch
    {
        ForbiddenDestinationException forbidden => forbidden.Message,
        SocketException socket => $"no connection: {socket.SocketErrorCode}",
        _ => $"no answer that can be read: {failed.HttpRequestError}",
    };
}
