using System.Security.Authentication;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Contracts.Store;
using Microsoft.AspNetCore.Server.Kestrel.Core;

namespace Contracts.Host.Serving;

/// <summary>The certificate that a host proves itself with over https, from files in PEM.</summary>
public static class ServerCertificate
{
    /// <summary>Has a host that is built use a certificate for its https addresses.</summary>
    /// <param name="builder">The host.</param>
    /// <param name="certificate">The certificate, and behind it those that lead to its root.</param>
    /// <param name="key">Its private key; null where it stands in the same file.</param>
    /// <exception cref="StoreException">A file cannot be read, is not of the other, or others may read the key.</exception>
    public static void Use(WebApplicationBuilder builder, string certificate, string? key)
    {
        var (own, chain) = Read(certificate, key ?? certificate);
        builder.Services.Configure<KestrelServerOptions>(kestrel => kestrel.ConfigureHttpsDefaults(https =>
        {
            https.ServerCertificate = own;
            https.ServerCertificateChain = chain;
            https.SslProtocols = SslProtocols.Tls12 | SslProtocols.Tls13;
        }));
    }

    private static (X509Certificate2 Own, X509Certificate2Collection Chain) Read(string certificate, string key)
    {
        try
        {
            if (!OperatingSystem.IsWindows() && (File.GetUnixFileMode(key) & (UnixFileMode.OtherRead | UnixFileMode.OtherWrite)) != 0)
            {
                throw new StoreException($"Everybody on this machine may use {key}, and with it be this host. Set its mode to 600, or 640 for a group.");
            }

            var own = X509Certificate2.CreateFromPemFile(certificate, key);
            var chain = new X509Certificate2Collection();
            chain.ImportFromPemFile(certificate);
            return (own, chain);
        }
        catch (Exception broken) when (broken is CryptographicException or ArgumentException or IOException or UnauthorizedAccessException)
        {
            throw new StoreException($"{certificate} and {key} are no certificate and its key in PEM that can be read: {broken.Message}", broken);
        }
    }
}
